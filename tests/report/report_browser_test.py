"""The report in a real browser: clicks, keys, phone, dark, print; nothing said on the console, nothing asked of a network.

Usage: report_browser_test.py LOOMPROOF SOURCE_ROOT; ends with 77 (skipped) where there is no Chromium.
"""
import json
import pathlib
import subprocess
import sys
import tempfile
import time
import unittest

sys.dont_write_bytecode = True
sys.path.insert(0, str(pathlib.Path(__file__).parent))
import browser  # noqa: E402

LOOMPROOF, ROOT = sys.argv[1], pathlib.Path(sys.argv[2])
GOOD, BROKEN = ROOT / "netlists/orchard-cart.yaml", ROOT / "netlists/broken/oversize-fuse.yaml"

# Text nodes whose contrast is below WCAG 2 AA (4.5; 3 for large text), with the colours that the browser computed.
WEAK_TEXT = """(() => {
  const lum = (c) => { const f = c.slice(0, 3).map((v) => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; });
    return 0.2126 * f[0] + 0.7152 * f[1] + 0.0722 * f[2]; };
  const rgb = (s) => { const m = s.match(/[\\d.]+/g).map(Number); return m.length > 3 ? m : [...m, 1]; };
  const weak = [];
  let looked = 0;
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const e = walker.currentNode.parentElement;
    if (!walker.currentNode.data.trim() || !e.checkVisibility() || e.closest("script, .sheet")) continue;
    const style = getComputedStyle(e), inSvg = e.closest("svg");
    let ground = null;
    for (let up = e; up && !ground; up = up.parentElement) {
      const c = rgb(getComputedStyle(up).backgroundColor);
      if (c[3] === 1) ground = c;
    }
    if (!ground) { weak.push("no ground: " + walker.currentNode.data); continue; }
    const a = lum(rgb(inSvg ? style.fill : style.color)), b = lum(ground);
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05), size = parseFloat(style.fontSize);
    ++looked;
    if (ratio < (size >= 24 || (size >= 18.66 && style.fontWeight >= 700) ? 3 : 4.5)) weak.push(walker.currentNode.data.trim() + " " + ratio.toFixed(2));
  }
  return {weak: weak.slice(0, 10), looked};
})()"""


class Report(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory(prefix="loomproof-report.")
        cls.browser = browser.Browser()

    @classmethod
    def tearDownClass(cls):
        cls.browser.close()
        cls.folder.cleanup()

    def page(self, loom):
        out = pathlib.Path(self.folder.name) / (pathlib.Path(loom).stem + ".html")
        if not out.exists():
            subprocess.run([LOOMPROOF, "report", str(loom), "-o", str(out)], check=True)
        return out

    def setUp(self):
        self.b = self.browser
        self.b.complaints.clear()
        self.b.requests.clear()
        self.b.size(1280, 900)
        self.b.media()

    def tearDown(self):
        self.assertEqual(self.b.complaints, [])
        self.assertEqual([r for r in self.b.requests if not r.startswith("file://")], [])

    def test_small_and_quick(self):
        page = self.page(GOOD)
        self.assertLess(page.stat().st_size, 1_500_000)
        # The main thread's own time, so that a busy machine does not count; the wall time is printed.
        self.b.call("Performance.enable", {"timeDomain": "threadTicks"})
        worked = lambda: {m["name"]: m["value"] for m in self.b.call("Performance.getMetrics")["metrics"]}["TaskDuration"]
        took, walls = [], []
        for _ in range(3):
            self.b.open(page)
            self.assertTrue(self.b.look("document.documentElement.classList.contains('js')"))
            took.append(worked())
            walls.append(self.b.look("performance.getEntriesByType('navigation')[0].domComplete"))
        self.b.call("Performance.disable")
        print(f"{page.stat().st_size} bytes, interactive after {min(took) * 1000:.0f} ms of work, {min(walls):.0f} ms by the clock")
        self.assertGreater(min(took), 0.01)
        self.assertLess(min(took), 1)

    def test_same_bytes_each_time(self):
        first = self.page(GOOD).read_bytes()
        again = pathlib.Path(self.folder.name) / "again.html"
        subprocess.run([LOOMPROOF, "report", str(GOOD), "-o", str(again)], check=True)
        self.assertEqual(again.read_bytes(), first)

    def test_wire_in_the_diagram_chooses_its_row_and_its_finding(self):
        self.b.open(self.page(BROKEN))
        wire = self.b.look("document.querySelector('.finding[data-wire]').dataset.wire")
        # The middle of a bent line may lie beside it: take a point that is on it.
        x, y = self.b.look(
            "(() => { const g = document.querySelector('.sheet .wire[data-wire=\"%s\"]'), p = g.querySelector('path.seen');"
            "g.scrollIntoView({block: 'center'}); const m = p.getScreenCTM(), l = p.getTotalLength();"
            "for (let i = 1; i < 40; ++i) { const q = p.getPointAtLength(l * i / 40).matrixTransform(m);"
            "const hit = document.elementFromPoint(q.x, q.y); if (hit && hit.closest('.wire') === g) return [q.x, q.y]; }"
            "return null; })()" % wire)
        name = self.b.look(f"document.querySelector('#w{wire} button').textContent")
        self.b.move(x, y)
        self.assertTrue(self.b.look("document.getElementById('about').textContent").startswith(name + ": "))
        self.b.press(x, y)
        self.assertEqual(self.b.look(f"document.querySelector('tr.chosen').id"), "w" + wire)
        self.assertEqual(self.b.look("document.querySelector('.finding.chosen').dataset.wire"), wire)
        self.assertEqual(self.b.look("document.querySelectorAll('.sheet .wire.chosen').length"), 1)
        self.b.click("#none")
        self.assertEqual(self.b.look("document.querySelectorAll('.chosen').length"), 0)

    def test_row_and_finding_show_the_wire(self):
        self.b.open(self.page(BROKEN))
        self.b.click("#wiretable tbody tr button", 3)
        self.assertEqual(self.b.look("document.querySelector('.sheet .wire.chosen').dataset.wire"), "3")
        self.assertEqual(self.b.look("document.activeElement.id"), "sheet")
        self.b.click(".finding button[data-show]")
        self.assertEqual(self.b.look("document.querySelector('.sheet .wire.chosen').dataset.wire"),
                         self.b.look("document.querySelector('.finding').dataset.wire"))

    def test_marker_leads_to_its_finding(self):
        self.b.open(self.page(BROKEN))
        self.b.click(".sheet .find")
        number = self.b.look("document.querySelector('.sheet .find').dataset.finding")
        self.assertEqual(self.b.look("document.querySelector('.finding.chosen').dataset.finding"), number)
        self.assertTrue(self.b.look(f"document.getElementById('f{number}').contains(document.activeElement)"))

    def test_keyboard_alone(self):
        self.b.open(self.page(BROKEN))
        for _ in range(60):
            self.b.key("Tab")
            if self.b.look("document.activeElement.id") == "sheet":
                break
        self.assertEqual(self.b.look("document.activeElement.id"), "sheet")
        self.assertNotEqual(self.b.look("getComputedStyle(document.activeElement).outlineStyle"), "none")
        self.b.key("ArrowRight")
        self.b.key("ArrowRight")
        self.assertEqual(self.b.look("document.querySelector('.sheet .wire.chosen').dataset.wire"), "1")
        self.b.key("ArrowLeft")
        self.assertEqual(self.b.look("document.querySelector('.sheet .wire.chosen').dataset.wire"), "0")
        self.b.key("Enter")
        self.assertTrue(self.b.look("document.activeElement.closest('tr, .finding').classList.contains('chosen')"))

    def test_every_control_has_a_name(self):
        self.b.open(self.page(BROKEN))
        nameless = self.b.look(
            "[...document.querySelectorAll('a, button, select, [tabindex=\"0\"]')].filter((e) => !(e.getAttribute('aria-label')"
            " || e.textContent.trim() || (e.labels && e.labels.length))).map((e) => e.outerHTML.slice(0, 80))")
        self.assertEqual(nameless, [])
        dangling = self.b.look(
            "[...document.querySelectorAll('a[href^=\"#\"]')].filter((a) => !document.getElementById(a.getAttribute('href')"
            ".slice(1))).map((a) => a.outerHTML)")
        self.assertEqual(dangling, [])
        self.assertEqual(self.b.look(
            "(() => { const ids = [...document.querySelectorAll('[id]')].map((e) => e.id);"
            "return ids.filter((id, i) => ids.indexOf(id) !== i); })()"), [])

    def set_knob(self, name, value):
        found = self.b.look(
            "(() => { for (const label of document.querySelectorAll('#knobs label')) { const s = label.querySelector('select');"
            f"if (label.firstChild.data !== {json.dumps(name)}) continue;"
            f"const o = [...s.options].find((o) => o.text === {json.dumps(value)}); if (!o) return false;"
            "s.value = o.value; s.dispatchEvent(new Event('change', {bubbles: true})); return true; } return false; })()")
        self.assertTrue(found, f"{name}: {value}")

    def live(self):
        return self.b.look("Object.fromEntries([...document.querySelectorAll('#livelist li')].map((li) => li.textContent.split(': ')))")

    def test_situations(self):
        self.b.open(self.page(GOOD))
        self.b.click("#showrest")
        rest = self.live()
        # The pack is always live, what the key feeds is not.
        self.assertIn("T1", rest)
        self.assertRegex(rest["T1"], r"58\.\d V")
        self.assertNotIn("C3", rest)
        self.set_knob("key", "on")
        self.set_knob("kill", "run")
        on = self.live()
        self.assertIn("C3", on)
        self.assertIn("13", on["C3"])
        states = self.b.look("[...document.querySelectorAll('#statelist li')].map((li) => li.textContent)")
        self.assertIn("main main: closed", [s.replace("main contact", "main main") for s in states] + states)
        self.set_knob("throttle", "full")
        self.set_knob("duty", "climb")
        self.assertIn("120 A", self.live()["T1"])
        self.assertGreater(self.b.look("document.querySelectorAll('.sheet .wire.flows').length"), 10)
        self.set_knob("key", "off")  # no climbing with the key off
        self.assertIn("not computed", self.b.look("document.getElementById('answer').textContent"))
        self.assertEqual(self.live(), {})
        self.b.click("#clear")
        self.assertEqual(self.b.look("document.querySelectorAll('.sheet .wire.dead').length"), 0)

    def pick(self, control, text):
        """Chooses an option by its text as a person does: focus, value, change."""
        found = self.b.look(
            f"(() => {{ const s = document.getElementById({json.dumps(control)});"
            f"const o = [...s.options].find((o) => o.text.startsWith({json.dumps(text)})); if (!o || !s.checkVisibility()) return false;"
            "s.value = o.value; s.dispatchEvent(new Event('change', {bubbles: true})); return true; })()")
        self.assertTrue(found, f"{control}: {text}")

    def answer(self):
        return self.b.look("document.getElementById('answer').textContent")

    def test_faults(self):
        self.b.open(self.page(GOOD))
        self.assertGreater(self.b.look("document.getElementById('fault').options.length"), 200)
        self.assertFalse(self.b.look("document.getElementById('storedlabel').checkVisibility()"))
        self.set_knob("key", "on")
        self.set_knob("kill", "run")
        self.assertIn("13", self.live()["C3"])
        # The wire that feeds the key opens: what hangs behind it is dead, and the page says so.
        self.pick("fault", "'C2' open")
        self.assertIn("With 'C2' open:", self.answer())
        self.assertRegex(self.live()["C3"], r"^(0\.0 V|floating) \(without the fault 1\d\.\d V\)$")
        states = self.b.look("[...document.querySelectorAll('#statelist li')].map((li) => li.textContent)")
        self.assertIn("main.coil: goes off", states)
        self.assertEqual(self.b.look("document.querySelectorAll('.sheet .wire.faulty').length"), 1)
        self.assertGreater(self.b.look("document.querySelectorAll('.sheet .wire.changed').length"), 3)
        name = self.b.look("JSON.parse(document.getElementById('data').textContent).wires.findIndex((w) => w.name === 'C2')")
        self.assertEqual(self.b.look("document.querySelector('.sheet .wire.faulty').dataset.wire"), str(name))
        # A combination that was not stored says so and offers those that were.
        self.set_knob("pack", "empty")
        self.assertIn("not stored", self.answer())
        self.assertEqual(self.live(), {})
        self.pick("stored", "everything at rest")
        self.assertEqual(self.b.look("document.querySelector('#knobs select').value"), "0")
        self.assertIn("With 'C2' open", self.answer())
        self.assertIn("T1", self.live())
        # A silent one.
        self.pick("fault", "'kill.blade' welded")
        self.assertRegex(self.answer(), "It shows in ")
        self.pick("fault", "none")
        self.assertFalse(self.b.look("document.getElementById('storedlabel').checkVisibility()"))
        self.assertIn("wires are live", self.answer())
        self.b.click("#clear")
        self.assertEqual(self.b.look("document.getElementById('fault').value"), "")
        self.assertEqual(self.b.look("document.querySelectorAll('.sheet .wire.dead, .sheet .wire.changed').length"), 0)

    def test_every_fault_can_be_shown(self):
        self.b.open(self.page(GOOD))
        # Every fault in every stored situation, within a second or so of the script's time: none may throw.
        took = self.b.look(
            "(() => { const f = document.getElementById('fault'), s = document.getElementById('stored'), change = () => new Event('change');"
            "const from = performance.now(); let shown = 0;"
            "for (const o of [...f.options].filter((o, i) => i % 10 === 1)) { f.value = o.value; f.dispatchEvent(change());"
            "for (const q of [...s.options].slice(1)) { s.value = q.value; s.dispatchEvent(change());"
            "if (!document.getElementById('answer').textContent.startsWith('With ')) return null; ++shown; } }"
            "return [shown, (performance.now() - from) / shown]; })()")
        self.assertGreater(took[0], 300)
        print(f"{took[0]} faults in situations shown, {took[1]:.1f} ms each")
        self.assertLess(took[1], 200)

    def test_names_of_the_user_stay_text(self):
        evil = '</title></script><script>window.hacked = 1</script><img src=x onerror="window.hacked = 1">'
        text = BROKEN.read_text()
        start = text.index("vehicle:")
        text = text[:start] + "vehicle: {name: '" + evil + "'}" + text[text.index("\n", start):]
        names = {}
        for old, new in (("trunk", "'\"><script>window.hacked=1</script>'"),):
            text = text.replace(f"in: {old}", f"in: {new}").replace(f"  {old}:", f"  {new}:")
            names[old] = new
        loom = pathlib.Path(self.folder.name) / "evil <b> & 'name'.yaml"
        loom.write_text(text)
        out = pathlib.Path(self.folder.name) / "evil.html"
        ran = subprocess.run([LOOMPROOF, "report", str(loom), "-o", str(out)], capture_output=True, text=True)
        if ran.returncode != 0:  # names of bundles may be restricted; the vehicle's and the file's are not
            loom.write_text(text.replace("'\"><script>window.hacked=1</script>'", "trunk"))
            subprocess.run([LOOMPROOF, "report", str(loom), "-o", str(out)], check=True)
        self.b.open(out)
        time.sleep(0.2)
        self.assertIsNone(self.b.look("window.hacked"))
        self.assertEqual(self.b.look("document.querySelectorAll('script').length"), 2)
        self.assertEqual(self.b.look("document.querySelectorAll('img').length"), 0)
        self.assertEqual(self.b.look("document.querySelector('h1').textContent"), evil)
        self.assertEqual(self.b.look("document.title"), evil + ": wiring report")
        self.assertIn("evil <b> & 'name'.yaml", self.b.look("document.querySelector('.block').textContent"))

    def test_no_other_script_runs(self):
        page = self.page(GOOD)
        tampered = pathlib.Path(self.folder.name) / "tampered.html"
        tampered.write_text(page.read_text().replace("</main>", "<script>window.hacked = 1</script></main>"))
        self.b.open(tampered)
        self.assertIsNone(self.b.look("window.hacked"))
        self.assertTrue(any("Content Security Policy" in c for c in self.b.complaints), self.b.complaints)
        self.b.complaints.clear()

    def test_contrast_as_the_browser_computes_it(self):
        for loom in (GOOD, BROKEN):
            for dark in (False, True):
                self.b.media(dark=dark)
                self.b.open(self.page(loom))
                ground = self.b.look("getComputedStyle(document.documentElement).backgroundColor")
                self.assertEqual(ground == "rgb(255, 255, 255)", not dark)
                self.b.look("document.querySelector('#wiretable tr[data-wire]').click()")  # a chosen row too
                seen = self.b.look(WEAK_TEXT)
                self.assertEqual(seen["weak"], [])
                self.assertGreater(seen["looked"], 500)

    def test_no_table_is_clipped_on_a_desktop(self):
        for loom in (GOOD, BROKEN, ROOT / "netlists/marshals-quad.yaml", ROOT / "netlists/parcel-trike.yaml"):
            self.b.open(self.page(loom))
            clipped = self.b.look(
                "[...document.querySelectorAll('.scroll')].filter((e) => e.scrollWidth > e.clientWidth)"
                ".map((e) => e.getAttribute('aria-label'))"
            )
            self.assertEqual(clipped, [], loom)
            self.assertGreater(self.b.look("document.querySelectorAll('.scroll table').length"), 3)

    def test_phone(self):
        self.b.size(390, 844, 2, True)
        self.b.open(self.page(BROKEN))
        self.assertEqual(self.b.look("document.documentElement.scrollWidth"), 390)
        # What is pressed with a thumb: 24 px at the least (WCAG 2.2, 2.5.8).
        small = self.b.look(
            "[...document.querySelectorAll('.tools button, #knobs select')].filter((e) => e.checkVisibility() &&"
            "e.getBoundingClientRect().height < 24).length")
        self.assertEqual(small, 0)
        self.assertGreaterEqual(self.b.look("parseFloat(getComputedStyle(document.querySelector('.finding p')).fontSize)"), 14)

    def test_print(self):
        self.b.media(dark=True)
        self.b.open(self.page(BROKEN))
        pdf = self.b.pdf()
        self.assertTrue(pdf.startswith(b"%PDF"))
        pages = pdf.count(b"/Type /Page\n") + pdf.count(b"/Type /Page ")
        print(f"{pages} pages printed")
        self.assertGreaterEqual(pages, 3)
        self.assertLess(pages, 30)
        # A browser shrinks the whole print when one table is wider than the paper: A4 within 14 mm is 688 px wide.
        for example in (GOOD, BROKEN):
            self.b.open(self.page(example))
            self.b.size(688, 1000)
            self.b.media("print")
            self.assertLessEqual(self.b.look("Math.max(...[...document.querySelectorAll('table, .chart')]"
                                             ".map((e) => e.getBoundingClientRect().right))"), 688)
            # The diagram lies across the sheet, as long as the sheet has room: text of 6 pt on A4 stays above 5.
            self.assertGreater(self.b.look("document.querySelector('.sheet svg').getBoundingClientRect().height"), 850)
            self.assertLessEqual(self.b.look("document.querySelector('.sheet svg').getBoundingClientRect().right"), 688)
        self.b.size(1300, 900)
        self.b.media("print", dark=True)  # paper is white whatever the screen is
        self.assertEqual(self.b.look("getComputedStyle(document.documentElement).backgroundColor"), "rgb(255, 255, 255)")
        self.assertEqual(self.b.look("getComputedStyle(document.querySelector('nav')).display"), "none")

    def test_without_script(self):
        self.b.call("Emulation.setScriptExecutionDisabled", {"value": True})
        try:
            self.b.open(self.page(BROKEN))
            self.assertFalse(self.b.look("document.documentElement.classList.contains('js')"))
            self.assertFalse(self.b.look("document.querySelector('.explorer').checkVisibility()"))
            self.assertTrue(self.b.look("document.querySelector('.finding').checkVisibility()"))
        finally:
            self.b.call("Emulation.setScriptExecutionDisabled", {"value": False})


if __name__ == "__main__":
    if not browser.find():
        print("SKIPPED: there is no Chromium, so the report was NOT tested in a browser (Debian package: chromium)")
        sys.exit(77)
    unittest.main(argv=sys.argv[:1], verbosity=1)

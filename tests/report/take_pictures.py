"""Takes the pictures of the report for the docs: desktop, phone, dark, print.

Usage: take_pictures.py LOOMPROOF SOURCE_ROOT
"""
import pathlib
import subprocess
import sys
import tempfile

sys.dont_write_bytecode = True
sys.path.insert(0, str(pathlib.Path(__file__).parent))
import browser  # noqa: E402

loomproof, root = sys.argv[1], pathlib.Path(sys.argv[2])
pictures = root / "docs/pictures"
if not browser.find():
    sys.exit("there is no Chromium to take pictures with (Debian package: chromium)")

with tempfile.TemporaryDirectory() as folder, browser.Browser() as b:
    page = pathlib.Path(folder) / "report.html"

    def write(loom):
        # From the root, so that the page names the file as a reader of the repository would.
        subprocess.run([loomproof, "report", loom, "-o", str(page)], check=True, cwd=root)
        b.open(page)

    b.media()
    b.size(1100, 1400)
    write("netlists/broken/oversize-fuse.yaml")
    b.picture(pictures / "report-broken.png")
    write("netlists/orchard-cart.yaml")
    b.look("document.getElementById('diagram').scrollIntoView()")
    b.picture(pictures / "report-desktop.png")
    b.media(dark=True)
    b.look("document.getElementById('fuses').scrollIntoView()")
    b.picture(pictures / "report-dark.png")
    b.media()
    b.size(390, 844, 2, True)
    write("netlists/broken/oversize-fuse.yaml")
    b.picture(pictures / "report-phone.png")
    # Print: the sheet's width at 96 pixels an inch, less the margins.
    b.media("print")
    b.size(688, 1000, 1.5)
    write("netlists/orchard-cart.yaml")
    b.look("document.getElementById('fuses').scrollIntoView()")
    b.picture(pictures / "report-print.png")

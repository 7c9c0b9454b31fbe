// Hover and click between wire, finding and row; the situation explorer. All text goes in as text, never as markup.
(() => {
  "use strict";
  const data = JSON.parse(document.getElementById("data").textContent);
  const $ = (id) => document.getElementById(id);
  const sheet = $("sheet"), about = $("about");
  const drawn = new Map();
  let chosen = null;

  document.documentElement.classList.add("js");
  for (const g of sheet.querySelectorAll(".wire")) {
    drawn.set(Number(g.dataset.wire), g);
    for (const path of g.querySelectorAll("path.seen")) {
      const hit = path.cloneNode();
      hit.setAttribute("class", "hit");
      path.after(hit);
    }
  }

  const told = (wire) => {
    const w = data.wires[wire];
    const said = w.findings.map((n) => n + " " + data.findings[n - 1].says);
    return w.about + (said.length ? " Findings: " + said.join("; ") : " No finding.") + live(wire);
  };

  const choose = (wire, finding) => {
    for (const old of document.querySelectorAll(".chosen, .path")) old.classList.remove("chosen", "path");
    chosen = wire;
    if (wire === null && finding === undefined) {
      about.textContent = "Nothing chosen.";
      return;
    }
    if (wire !== null) {
      for (const e of document.querySelectorAll('[data-wire="' + wire + '"]')) e.classList.add("chosen");
      about.textContent = told(wire);
    }
    if (finding !== undefined) {
      for (const w of data.findings[finding - 1].path) if (drawn.has(w)) drawn.get(w).classList.add("path");
    }
    const marked = finding !== undefined ? [finding] : wire !== null ? data.wires[wire].findings : [];
    for (const n of marked) {
      for (const e of document.querySelectorAll('[data-finding="' + n + '"]')) e.classList.add("chosen");
    }
    if (wire === null) about.textContent = finding + " " + data.findings[finding - 1].says;
  };

  const go = (element) => {
    if (!element) return;
    element.scrollIntoView({block: "center"});
    const target = element.querySelector("button, a") || element;
    if (target === element && !element.hasAttribute("tabindex")) element.setAttribute("tabindex", "-1");
    target.focus({preventScroll: true});
  };

  const centre = (g) => {
    if (!g) return;
    const box = g.getBoundingClientRect(), frame = sheet.getBoundingClientRect();
    sheet.scrollBy(box.left + box.width / 2 - frame.left - frame.width / 2, box.top + box.height / 2 - frame.top - frame.height / 2);
  };

  // The diagram: pointer.
  sheet.addEventListener("pointerover", (event) => {
    const g = event.target.closest(".wire");
    if (g) about.textContent = told(Number(g.dataset.wire));
  });
  sheet.addEventListener("pointerleave", () => {
    if (chosen !== null) about.textContent = told(chosen);
  });
  sheet.addEventListener("click", (event) => {
    const mark = event.target.closest(".find"), g = event.target.closest(".wire");
    if (mark) {
      const n = Number(mark.dataset.finding);
      choose(data.findings[n - 1].wire, n);
      go($("f" + n));
    } else if (g) {
      choose(Number(g.dataset.wire));
    }
  });

  // The diagram: keyboard.
  const order = [...drawn.keys()].sort((a, b) => a - b);
  sheet.addEventListener("keydown", (event) => {
    const step = event.key === "ArrowRight" ? 1 : event.key === "ArrowLeft" ? -1 : 0;
    if (step && order.length) {
      const at = order.indexOf(chosen);
      const next = order[at < 0 ? (step > 0 ? 0 : order.length - 1) : (at + step + order.length) % order.length];
      choose(next);
      centre(drawn.get(next));
      event.preventDefault();
    } else if (event.key === "Enter" && chosen !== null) {
      const numbers = data.wires[chosen].findings;
      go(numbers.length ? $("f" + numbers[0]) : $("w" + chosen));
      event.preventDefault();
    } else if (event.key === "Escape") {
      choose(null);
    }
  });

  // Rows and findings.
  document.addEventListener("click", (event) => {
    const show = event.target.closest("[data-show]"), row = event.target.closest("tr[data-wire]");
    if (show) {
      const n = Number(show.dataset.show), wire = data.findings[n - 1].wire;
      choose(wire, n);
      const g = wire !== null ? drawn.get(wire) : sheet.querySelector('.find[data-finding="' + n + '"]');
      sheet.scrollIntoView({block: "nearest"});
      centre(g);
      sheet.focus({preventScroll: true});
    } else if (row && !event.target.closest("a")) {
      const wire = Number(row.dataset.wire);
      choose(wire);
      if (event.target.closest("[data-pick]")) {
        sheet.scrollIntoView({block: "nearest"});
        centre(drawn.get(wire));
        sheet.focus({preventScroll: true});
      }
    }
  });
  $("wiretable").addEventListener("pointerover", (event) => {
    const row = event.target.closest("tr[data-wire]");
    for (const g of sheet.querySelectorAll(".wire.near")) g.classList.remove("near");
    if (row && drawn.has(Number(row.dataset.wire))) drawn.get(Number(row.dataset.wire)).classList.add("near");
  });

  // Size of the drawing.
  const drawing = sheet.querySelector("svg");
  let scale = 1;
  const resize = (next) => {
    const centred = [(sheet.scrollLeft + sheet.clientWidth / 2) / sheet.scrollWidth, (sheet.scrollTop + sheet.clientHeight / 2) / sheet.scrollHeight];
    scale = Math.min(6, Math.max(0.4, next));
    drawing.style.minWidth = "0";
    drawing.style.width = 100 * scale + "%";
    sheet.scrollTo(centred[0] * sheet.scrollWidth - sheet.clientWidth / 2, centred[1] * sheet.scrollHeight - sheet.clientHeight / 2);
  };
  const now = () => drawing.getBoundingClientRect().width / sheet.clientWidth;
  $("smaller").addEventListener("click", () => resize(now() / 1.4));
  $("larger").addEventListener("click", () => resize(now() * 1.4));
  $("whole").addEventListener("click", () => resize(1));
  $("none").addEventListener("click", () => choose(null));

  // The explorer.
  const e = data.explorer;
  const at = [];
  const look = (cone) => {
    let cell = 0;
    for (const k of cone.k) cell = cell * Math.max(1, e.knobs[k].values.length) + at[k];
    const c = cone.t[cell];
    return c === "." ? -1 : c.charCodeAt(0) - 48;
  };
  let shows = false, fault = null;
  function live(wire) {
    if (!shows) return "";
    if (fault !== null) return faulty(wire);
    const v = e.pool[e.volts[wire]], a = e.pool[e.amps[wire]];
    const vi = look(v), ai = look(a);
    return vi < 0 ? "" : " In the chosen situation: " + v.l[vi] + (vi > 0 ? " against its source's negative" : "") + ", " + a.l[ai] + ".";
  }

  // With a fault in: readings of test points, in tenths of a volt, that differ from the sound ones.
  const d = e && e.faults;
  const stored = () => d.situations.findIndex((s) => s.every((value, k) => value === at[k]));
  const difference = (situation) => {
    const f = d.faults[fault];
    for (let i = 2; i < f.length; i += 2) if (f[i] === situation) return d.differences[f[i + 1]];
    return [[], [], [], 0];
  };
  // Both ends of a wire; null: nothing joins it to its reference.
  const ends = (wire, points) => d.wires[wire].map((p) => p === -1 ? 0 : p < 0 ? null : points[p]);
  const with_fault = (situation) => {
    const points = d.sound[situation].slice(), r = difference(situation)[2];
    for (let i = 0; i < r.length; i += 2) points[r[i]] = r[i + 1];
    return points;
  };
  const volts = (v) => v === null ? "floating" : (v / 10).toFixed(1) + " V";
  const both = ([a, b]) => a === b || (a !== null && b !== null && Math.abs(a - b) < 3) ? volts(a !== null && Math.abs(a) > Math.abs(b) ? a : b) :
    volts(a) + " at one end, " + volts(b) + " at the other";
  const awake = (pair) => pair.some((v) => v !== null && Math.abs(v) > 10);
  const same = (a, b) => a[0] === b[0] && a[1] === b[1];
  function faulty(wire) {
    const s = stored();
    if (s < 0) return "";
    const now = ends(wire, with_fault(s)), was = ends(wire, d.sound[s]);
    return " With " + d.faults[fault][0] + ": " + both(now) + (same(now, was) ? "" : ", without the fault " + both(was)) + ".";
  }
  if (!e) return;
  const controls = $("knobs"), answer = $("answer"), list = $("livelist"), states = $("statelist");
  e.knobs.forEach((knob, k) => {
    at.push(0);
    const label = document.createElement("label"), select = document.createElement("select");
    label.append(knob.name, select);
    knob.values.forEach((value, i) => {
      const option = document.createElement("option");
      option.value = i;
      option.textContent = value;
      select.append(option);
    });
    select.id = "knob" + k;
    select.addEventListener("change", () => {
      at[k] = Number(select.value);
      shows = true;
      update();
    });
    controls.append(label);
  });
  const item = (parent, text, strong) => {
    const li = document.createElement("li"), inner = strong ? document.createElement("b") : li;
    inner.textContent = text;
    if (strong) li.append(inner);
    parent.append(li);
  };
  const in_words = (situation) => {
    const moved = e.knobs.slice(0, -2).map((knob, k) => [knob, situation[k]]).filter(([, value]) => value > 0);
    return moved.length ? moved.map(([knob, value]) => knob.name + " " + knob.values[value]).join(", ") : "everything at rest";
  };
  const counted = (n, one) => n + " " + one + (n === 1 ? "" : "s");

  // Situations in which the fault shows come first.
  function list_stored() {
    const select = $("stored"), shown = new Set(d.faults[fault].filter((x, i) => i > 1 && i % 2 === 0));
    select.textContent = "";
    const add = (text, value) => {
      const option = document.createElement("option");
      option.value = value;
      option.textContent = text;
      select.append(option);
    };
    add("as set above", "");
    d.situations.forEach((s, i) => { if (shown.has(i)) add(in_words(s) + " (shows)", i); });
    d.situations.forEach((s, i) => { if (!shown.has(i)) add(in_words(s), i); });
    $("storedlabel").hidden = false;
  }
  function show_fault() {
    const name = d.faults[fault][0], shown = (d.faults[fault].length - 2) / 2, s = stored();
    const often = shown === 0 ? "It shows in none of the " + d.situations.length + " stored situations: a silent fault." :
      "It shows in " + shown + " of the " + d.situations.length + " stored situations.";
    $("stored").value = s < 0 ? "" : String(s);
    if (s < 0) {
      sheet.classList.remove("shows");
      $("lists").hidden = true;
      answer.textContent = "With " + name + " this situation is not stored: pick one of the stored situations (full pack, no duty, one switch moved from rest or from ready to drive). " + often;
      return;
    }
    const [off, on, readings, chatters] = difference(s), points = with_fault(s);
    let dead = 0, alive = 0, changed = 0;
    const lines = [];
    data.wires.forEach((wire, w) => {
      const was = ends(w, d.sound[s]), now = ends(w, points), g = drawn.get(w);
      const other = !same(was, now);
      if (awake(was) && !awake(now)) ++dead;
      if (!awake(was) && awake(now)) ++alive;
      if (other) ++changed;
      if (awake(now) || other) lines.push([other ? 0 : 1, wire.name + ": " + both(now) + (other ? " (without the fault " + both(was) + ")" : ""), other]);
      if (g) {
        g.classList.add(awake(now) ? "flows" : now.some((v, i) => v === null && was[i] !== null) ? "idle" : "dead");
        g.classList.toggle("changed", other);
        g.classList.toggle("faulty", d.faults[fault][1] === w);
      }
    });
    lines.sort((x, y) => x[0] - y[0]);
    for (const [, text, other] of lines) item(list, text, other);
    for (const i of off) item(states, d.things[i] + ": goes off", true);
    for (const i of on) item(states, d.things[i] + ": comes on", true);
    for (const i of d.on[s]) if (!off.includes(i)) item(states, d.things[i] + ": on");
    const nothing = !off.length && !on.length && !readings.length && !chatters;
    const says = [];
    if (dead) says.push(counted(dead, "wire") + " that had voltage " + (dead === 1 ? "has" : "have") + " none");
    if (alive) says.push(counted(alive, "wire") + " that had none " + (alive === 1 ? "has" : "have") + " voltage");
    if (changed > dead + alive) says.push(counted(changed - dead - alive, "wire") + " read" + (changed - dead - alive === 1 ? "s" : "") + " otherwise");
    if (off.length) says.push(counted(off.length, "thing") + " " + (off.length === 1 ? "goes" : "go") + " off");
    if (on.length) says.push(counted(on.length, "thing") + " " + (on.length === 1 ? "comes" : "come") + " on");
    answer.textContent = "With " + name + (nothing ? " nothing differs in this situation. " : (says.length ? ": " + says.join(", ") + ". " : " nothing that can be metered differs. "))
      + (chatters ? "It chatters: something keeps switching. " : "") + often + (d.coarse ? " Readings that stay live or dead are left out." : "")
      + " In the diagram live wires are solid, dead ones thin and dotted, what the fault changes is wide, the faulty wire itself dashed.";
    if (chosen !== null) about.textContent = told(chosen);
  }
  function update() {
    sheet.classList.toggle("shows", shows);
    $("lists").hidden = !shows;
    list.textContent = states.textContent = "";
    for (const g of drawn.values()) g.classList.remove("dead", "idle", "flows", "changed", "faulty");
    $("statehead").textContent = fault === null ? "Contacts and outputs" : "Loads, coils, inputs and outputs";
    if (!shows) {
      answer.textContent = "Set a switch to see what is live.";
      return;
    }
    if (fault !== null) {
      show_fault();
      return;
    }
    const settled = look(e.settled);
    if (settled !== 1) {
      sheet.classList.remove("shows");
      $("lists").hidden = true;
      answer.textContent = settled === 2 ? "This situation does not settle: something in it keeps switching." :
        "This situation was not computed: either this duty is not possible with these switches, or it was left out (see what this rests on).";
      return;
    }
    let count = 0, flowing = 0;
    data.wires.forEach((wire, w) => {
      const v = e.pool[e.volts[w]], a = e.pool[e.amps[w]], vi = look(v), ai = look(a), g = drawn.get(w);
      if (ai > 0) ++flowing;
      if (vi > 0) {
        ++count;
        item(list, wire.name + ": " + v.l[vi] + ", " + a.l[ai]);
      }
      if (g) g.classList.add(ai > 0 ? "flows" : vi > 0 ? "idle" : "dead");
    });
    for (const state of e.states) {
      const s = e.pool[state.is], i = look(s);
      if (i >= 0) item(states, state.name + ": " + s.l[i]);
    }
    answer.textContent = count + " of " + data.wires.length + " wires are live, " + flowing + " carry current. In the diagram wires with current are solid, live ones without current dashed, dead ones thin and dotted.";
    if (chosen !== null) about.textContent = told(chosen);
  }
  const set = (situation) => e.knobs.forEach((knob, k) => {
    at[k] = situation[k];
    $("knob" + k).value = String(situation[k]);
  });
  if (d) {
    const select = $("fault");
    d.groups.forEach(([name, first], g) => {
      const group = document.createElement("optgroup");
      group.label = name;
      for (let f = first; f < (g + 1 < d.groups.length ? d.groups[g + 1][1] : d.faults.length); ++f) {
        const option = document.createElement("option");
        option.value = f;
        option.textContent = d.faults[f][0];
        group.append(option);
      }
      select.append(group);
    });
    select.addEventListener("change", () => {
      fault = select.value === "" ? null : Number(select.value);
      $("storedlabel").hidden = fault === null;
      if (fault !== null) list_stored();
      shows = true;
      update();
    });
    $("stored").addEventListener("change", () => {
      if ($("stored").value === "") return;
      set(d.situations[Number($("stored").value)]);
      update();
    });
    $("faultbox").hidden = false;
  }
  $("clear").addEventListener("click", () => {
    shows = false;
    fault = null;
    $("fault").value = "";
    $("storedlabel").hidden = true;
    set(at.map(() => 0));
    update();
  });
  $("showrest").addEventListener("click", () => {
    shows = true;
    update();
  });
  update();
})();

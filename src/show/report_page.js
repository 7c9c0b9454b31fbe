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
    for (const old of document.querySelectorAll(".chosen")) old.classList.remove("chosen");
    chosen = wire;
    if (wire === null && finding === undefined) {
      about.textContent = "Nothing chosen.";
      return;
    }
    if (wire !== null) {
      for (const e of document.querySelectorAll('[data-wire="' + wire + '"]')) e.classList.add("chosen");
      about.textContent = told(wire);
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
  let shows = false;
  function live(wire) {
    if (!shows) return "";
    const v = e.pool[e.volts[wire]], a = e.pool[e.amps[wire]];
    const vi = look(v), ai = look(a);
    return vi < 0 ? "" : " In the chosen situation: " + v.l[vi] + (vi > 0 ? " against its source's negative" : "") + ", " + a.l[ai] + ".";
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
  const item = (parent, text) => {
    const li = document.createElement("li");
    li.textContent = text;
    parent.append(li);
  };
  function update() {
    sheet.classList.toggle("shows", shows);
    $("lists").hidden = !shows;
    list.textContent = states.textContent = "";
    for (const g of drawn.values()) g.classList.remove("dead", "idle", "flows");
    if (!shows) {
      answer.textContent = "Set a switch to see what is live.";
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
  $("clear").addEventListener("click", () => {
    shows = false;
    e.knobs.forEach((knob, k) => {
      at[k] = 0;
      $("knob" + k).value = "0";
    });
    update();
  });
  $("showrest").addEventListener("click", () => {
    shows = true;
    update();
  });
  update();
})();

// What makes the page handier; without it every question can still be answered.
"use strict";
(() => {
  document.documentElement.classList.add("js");
  const INCH = 25.4;
  const FACTOR = { in: INCH, mm: 1, cm: 10 };
  const GLYPHS = { "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8" };

  function millimetres(text, unit) {
    let plain = text.trim().toLowerCase().replace(/[½¼¾⅛⅜⅝⅞]/g, (glyph) => GLYPHS[glyph]).trim();
    if (plain === "closed") return 0;
    const match = /^(?:(\d+)(?:\s+|-)(\d+)\/(\d+)|(\d+)\/(\d+)|(\d*\.?\d+|\d+\.))\s*(in|inch|inches|"|″|”|mm|cm)?$/.exec(plain);
    if (!match) return null;
    const number = match[6] !== undefined ? Number(match[6])
      : match[4] !== undefined ? match[4] / match[5] : Number(match[1]) + match[2] / match[3];
    const named = match[7] === undefined ? unit : match[7] === "mm" || match[7] === "cm" ? match[7] : "in";
    return Number.isFinite(number) ? number * FACTOR[named] : null;
  }

  function words(mm, unit) {
    if (unit === "cm") return `${(mm / 10).toFixed(1)} cm`;
    if (unit === "mm") return `${Math.round(mm)} mm`;
    const parts = Math.round((mm / INCH) * 16);
    const whole = Math.floor(parts / 16);
    let above = parts % 16, below = 16;
    while (above && above % 2 === 0) { above /= 2; below /= 2; }
    if (!above) return `${whole} in`;
    return `${whole ? `${whole} ` : ""}${above}/${below} in`;
  }

  function gap() {
    const figure = document.getElementById("gap");
    const entry = document.getElementById("text");
    if (!figure || !entry) return;
    const slide = document.getElementById("slide");
    const rows = [...figure.querySelectorAll(".row")];
    const here = figure.querySelector(".here");
    const { middle, scale, most } = Object.fromEntries(Object.entries(figure.dataset).map(([k, v]) => [k, Number(v)]));
    const unit = entry.dataset.unit;
    const draw = (mm) => {
      here.dataset.gap = mm === null ? "" : String(mm);
      here.querySelector(".read").textContent = mm === null ? "here" : mm === 0 ? "closed" : words(mm, unit);
      for (const edge of figure.querySelectorAll(".edge")) {
        const read = rows.filter((row) => row.dataset.gap !== "");
        const at = (row) => middle + Number(edge.dataset.side) * Math.min(Number(row.dataset.gap) / 2 * scale, most);
        edge.setAttribute("points", read.map((row) => `${at(row)},${row.dataset.y}`).join(" "));
      }
      const half = mm === null ? 0 : Math.min(mm / 2 * scale, most);
      here.querySelector(".level").setAttribute("x1", middle - half);
      here.querySelector(".level").setAttribute("x2", middle + half);
    };
    const told = (mm) => {
      slide.setAttribute("aria-valuetext", mm === null ? "not read yet" : mm === 0 ? "closed" : words(mm, unit));
    };
    figure.querySelector(".slider").hidden = false;
    const first = millimetres(entry.value, unit);
    slide.value = first === null ? 2 * INCH : first;
    told(first);
    if (first !== null) draw(first);
    slide.addEventListener("input", () => {
      const mm = Number(slide.value);
      entry.value = words(mm, unit);
      told(mm);
      draw(mm);
    });
    entry.addEventListener("input", () => {
      const mm = millimetres(entry.value, unit);
      if (mm !== null) slide.value = mm;
      told(mm);
      draw(mm);
    });
  }

  function body() {
    const map = document.getElementById("body-map");
    if (!map) return;
    map.hidden = false;
    for (const spot of map.querySelectorAll("[data-place]")) {
      const box = document.querySelector(`input[name=pick][value="${spot.dataset.place}"]`);
      if (!box) { spot.remove(); continue; }
      const show = () => spot.classList.toggle("on", box.checked);
      show();
      box.addEventListener("change", show);
      window.addEventListener("pageshow", show);
      spot.addEventListener("click", () => { box.checked = !box.checked; show(); });
    }
  }

  // A drawing: enlarged, moved, measured on, its layers taken off, faded from the old pattern to the new.
  function viewer(figure) {
    const view = figure.querySelector(".view"), svg = view.querySelector("svg"), unit = figure.dataset.unit;
    const whole = svg.viewBox.baseVal, home = [whole.x, whole.y, whole.width, whole.height];
    let box = [...home];
    const set = (next) => { box = next; svg.setAttribute("viewBox", box.join(" ")); };
    const point = (x, y) => new DOMPoint(x, y).matrixTransform(svg.getScreenCTM().inverse());
    const zoom = (by, at) => {
      const width = Math.min(home[2] * 1.2, Math.max(home[2] / 60, box[2] / by)), k = width / box[2];
      const c = at || { x: box[0] + box[2] / 2, y: box[1] + box[3] / 2 };
      set([c.x - (c.x - box[0]) * k, c.y - (c.y - box[1]) * k, width, box[3] * k]);
    };
    const move = (dx, dy) => set([box[0] - dx, box[1] - dy, box[2], box[3]]);
    view.addEventListener("wheel", (event) => {
      event.preventDefault();
      zoom(Math.exp(-event.deltaY * 0.0015), point(event.clientX, event.clientY));
    }, { passive: false });
    const fingers = new Map();
    let moved = 0;
    view.addEventListener("pointerdown", (event) => {
      if (event.button) return;
      fingers.set(event.pointerId, event);
      moved = fingers.size > 1 ? 99 : 0;
    });
    window.addEventListener("pointermove", (event) => {
      const was = fingers.get(event.pointerId);
      if (!was) return;
      const from = point(was.clientX, was.clientY), to = point(event.clientX, event.clientY);
      moved += Math.hypot(event.clientX - was.clientX, event.clientY - was.clientY);
      if (fingers.size === 2) {
        const other = [...fingers.values()].find((one) => one.pointerId !== event.pointerId);
        const reach = (one) => Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY);
        if (reach(was) > 5) zoom(reach(event) / reach(was), point(other.clientX, other.clientY));
      } else if (moved > 6) move(to.x - from.x, to.y - from.y);
      fingers.set(event.pointerId, event);
    });
    const off = (event) => fingers.delete(event.pointerId);
    window.addEventListener("pointerup", off);
    window.addEventListener("pointercancel", off);
    view.addEventListener("keydown", (event) => {
      const step = box[2] / 10;
      const does = { "+": () => zoom(1.25), "=": () => zoom(1.25), "-": () => zoom(0.8), 0: () => set([...home]),
        ArrowLeft: () => move(step, 0), ArrowRight: () => move(-step, 0), ArrowUp: () => move(0, step), ArrowDown: () => move(0, -step) }[event.key];
      if (does) { event.preventDefault(); does(); }
    });
    for (const button of figure.querySelectorAll("[data-zoom]"))
      button.addEventListener("click", () => ({ in: () => zoom(1.5), out: () => zoom(1 / 1.5), whole: () => set([...home]) })[button.dataset.zoom]());
    for (const box_ of figure.querySelectorAll("[data-layer]")) {
      const show = () => { for (const one of svg.querySelectorAll(`.l-${box_.dataset.layer}`)) one.setAttribute("display", box_.checked ? "inline" : "none"); };
      box_.addEventListener("change", show);
      show();
    }
    const fade = figure.querySelector(".fade input");
    if (fade) {
      const show = () => {
        const now = Number(fade.value) / 100;
        const put = (name, value) => { for (const one of svg.querySelectorAll(`.l-${name}`)) one.setAttribute("opacity", value.toFixed(2)); };
        for (const name of ["outline", "taken-away", "added", "dimensions"]) put(name, Math.min(1, now * 1.6));
        put("old-line", Math.min(1, (1 - now) * 1.6));
      };
      fade.addEventListener("input", show);
      show();
    }
    const measure = figure.querySelector("[data-measure]"), said = figure.querySelector(".measured");
    const marks = document.createElementNS("http://www.w3.org/2000/svg", "g");
    svg.append(marks);
    let first = null;
    const near = (at) => {
      let best = at, least = box[2] / 45;
      for (const line of svg.querySelectorAll(".l-outline path")) {
        const far = line.getTotalLength();
        for (let n = 0; n <= far; n += 3) {
          const spot = line.getPointAtLength(n), gap = Math.hypot(spot.x - at.x, spot.y - at.y);
          if (gap < least) { least = gap; best = spot; }
        }
      }
      return best;
    };
    const shape = (kind, attributes) => {
      const one = document.createElementNS("http://www.w3.org/2000/svg", kind);
      for (const [name, value] of Object.entries(attributes)) one.setAttribute(name, value);
      marks.append(one);
    };
    measure.addEventListener("click", () => {
      const on = measure.getAttribute("aria-pressed") !== "true";
      measure.setAttribute("aria-pressed", String(on));
      said.textContent = on ? "Tap two points." : "";
      marks.replaceChildren();
      first = null;
    });
    view.addEventListener("click", (event) => {
      if (moved > 6) return;
      const at = point(event.clientX, event.clientY);
      if (measure.getAttribute("aria-pressed") !== "true") {
        figure.dispatchEvent(new CustomEvent("tapped", { detail: { at, target: event.target, near } }));
        return;
      }
      const spot = near(at), r = box[2] / 150;
      if (!first) marks.replaceChildren();
      shape("circle", { class: "measure-dot", cx: spot.x, cy: spot.y, r });
      if (first) {
        shape("line", { class: "measure-line", x1: first.x, y1: first.y, x2: spot.x, y2: spot.y, "stroke-width": r / 2 });
        said.textContent = words(Math.hypot(spot.x - first.x, spot.y - first.y), unit);
        first = null;
      } else { first = spot; said.textContent = "And the other."; }
    });
    for (const line of svg.querySelectorAll(".tap")) line.setAttribute("stroke-width", String(home[2] / 40));
  }

  function wrong() {
    const said = document.getElementById("wrong");
    if (said) said.focus();
  }

  document.querySelectorAll(".sheet").forEach(viewer);
  wrong();
  gap();
  body();
})();

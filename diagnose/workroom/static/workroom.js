// What makes the page handier; without it every question can still be answered.
"use strict";
(() => {
  document.documentElement.classList.add("js");
  const screen = innerWidth < 640 ? "narrow" : "wide";
  document.cookie = `screen=${screen}; path=/; samesite=strict`;
  const laid = document.querySelector(".sheet")?.dataset.screen;
  // The first page with a drawing on a telephone held upright: the pieces are laid in rows for it.
  if (laid && laid !== screen && document.cookie.includes(`screen=${screen}`) && !document.getElementById("wrong")) location.replace(location.href);
  const INCH = 25.4;
  const FACTOR = { in: INCH, mm: 1, cm: 10 };
  const GLYPHS = { "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8" };

  function millimetres(text, unit) {
    let plain = text.trim().toLowerCase().replace(/[½¼¾⅛⅜⅝⅞]/g, (glyph) => GLYPHS[glyph]).replace(/^(-?\d*),(\d)/, "$1.$2").trim();
    if (plain === "closed") return 0;
    const match = /^(?:(\d+)(?:\s+|-)(\d+)\/(\d+)|(\d+)\/(\d+)|(\d*\.?\d+|\d+\.))\s*(?:(in|inch|inches|mm|cm)\.?|("|″|”))?$/.exec(plain);
    if (!match) return null;
    const number = match[6] !== undefined ? Number(match[6])
      : match[4] !== undefined ? match[4] / match[5] : Number(match[1]) + match[2] / match[3];
    const named = match[8] ? "in" : match[7] === undefined ? unit : match[7] === "mm" || match[7] === "cm" ? match[7] : "in";
    return Number.isFinite(number) ? number * FACTOR[named] : null;
  }

  function words(mm, unit) {
    // What lies on a half millimetre is not rounded away from it.
    const half = Math.round(mm * 2) / 2, isHalf = half % 1 !== 0 && Math.abs(mm - half) < 0.001;
    if (unit === "cm") return `${(mm / 10).toFixed(isHalf ? 2 : 1)} cm`;
    if (unit === "mm") return `${isHalf || mm < 5 ? half : Math.round(mm)} mm`;
    const parts = Math.round((mm / INCH) * 16);
    const whole = Math.floor(parts / 16);
    let above = parts % 16, below = 16;
    while (above && above % 2 === 0) { above /= 2; below /= 2; }
    if (!above) return `${whole} in`;
    return `${whole ? `${whole} ` : ""}${above}/${below} in`;
  }

  const drawn = (into, kind, attributes) => {
    const one = document.createElementNS("http://www.w3.org/2000/svg", kind);
    for (const [name, value] of Object.entries(attributes)) one.setAttribute(name, value);
    into.append(one);
    return one;
  };
  const onPaper = (svg, at) => new DOMPoint(at.clientX, at.clientY).matrixTransform(svg.getScreenCTM().inverse());

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
    const home = (svg.dataset.home || svg.getAttribute("viewBox")).split(" ").map(Number);
    svg.dataset.home = home.join(" ");
    let box = home.slice();
    const now = () => svg.getAttribute("viewBox").split(" ").map(Number);
    const set = (next) => { box = next; svg.setAttribute("viewBox", box.join(" ")); };
    const point = (at) => onPaper(svg, at);
    const zoom = (by, at) => {
      box = now();
      const width = Math.min(home[2] * 1.2, Math.max(home[2] / 60, box[2] / by)), k = width / box[2];
      const c = at || { x: box[0] + box[2] / 2, y: box[1] + box[3] / 2 };
      set([c.x - (c.x - box[0]) * k, c.y - (c.y - box[1]) * k, width, box[3] * k]);
    };
    const move = (dx, dy) => set([box[0] - dx, box[1] - dy, box[2], box[3]]);
    view.addEventListener("wheel", (event) => {
      event.preventDefault();
      zoom(Math.exp(-event.deltaY * 0.0015), point(event));
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
      const from = point(was), to = point(event);
      moved += Math.hypot(event.clientX - was.clientX, event.clientY - was.clientY);
      if (fingers.size === 2) {
        const other = [...fingers.values()].find((one) => one.pointerId !== event.pointerId);
        const reach = (one) => Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY);
        if (reach(was) > 5) zoom(reach(event) / reach(was), point(other));
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
    const marks = drawn(svg, "g", {});
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
    measure.addEventListener("click", () => {
      const on = measure.getAttribute("aria-pressed") !== "true";
      measure.setAttribute("aria-pressed", String(on));
      said.textContent = on ? "Tap two points." : "";
      marks.replaceChildren();
      first = null;
    });
    view.addEventListener("click", (event) => {
      if (moved > 6) return;
      const at = point(event);
      if (measure.getAttribute("aria-pressed") !== "true") {
        figure.dispatchEvent(new CustomEvent("tapped", { bubbles: true, detail: { at: near(at), target: event.target } }));
        return;
      }
      const spot = near(at), r = box[2] / 150;
      if (!first) marks.replaceChildren();
      drawn(marks, "circle", { class: "measure-dot", cx: spot.x, cy: spot.y, r });
      if (first) {
        drawn(marks, "line", { class: "measure-line", x1: first.x, y1: first.y, x2: spot.x, y2: spot.y, "stroke-width": r / 2 });
        said.textContent = words(Math.hypot(spot.x - first.x, spot.y - first.y), unit);
        first = null;
      } else { first = spot; said.textContent = "And the other."; }
    });
    for (const line of svg.querySelectorAll(".tap, .handle")) line.setAttribute("stroke-width", String(home[2] / 40));
  }

  // Parts of the page made anew by the server: the drawing keeps its place, what was open stays open.
  const turns = new Map();
  async function live(form, button, only) {
    const body = new URLSearchParams(new FormData(form, button)), headers = { "X-Workroom": "live" };
    const turn = (turns.get(form) || 0) + 1;
    turns.set(form, turn);
    const sent = form.method === "get" ? fetch(`${form.action}?${body}`, { headers }) : fetch(form.action, { method: "POST", body, headers });
    button?.setAttribute("aria-busy", "true");
    const answer = await sent.catch(() => null), text = answer?.ok ? await answer.text().catch(() => "") : "";
    button?.removeAttribute("aria-busy");
    if (turns.get(form) !== turn) return;  // one asked for since shows what she has now
    if (!text) {
      if (button) HTMLFormElement.prototype.submit.call(form);  // what stands in the way is then told on a page of its own
      return;
    }
    const made = new DOMParser().parseFromString(text, "text/html");
    if (only) {
      document.getElementById(only).replaceWith(made.getElementById(only));
      const now = new Set([...made.querySelectorAll("[aria-invalid]")].map((one) => one.id));
      for (const one of form.querySelectorAll("input")) {
        if (now.has(one.id)) { one.setAttribute("aria-invalid", "true"); one.setAttribute("aria-describedby", "wrong"); }
        else { one.removeAttribute("aria-invalid"); one.removeAttribute("aria-describedby"); }
      }
      return;
    }
    for (const part of made.querySelectorAll("[data-part]")) {
      const old = document.getElementById(part.dataset.part);
      const open = [...old.querySelectorAll("details")].map((one) => one.open);
      const box = old.querySelector(".view svg")?.getAttribute("viewBox");
      const home = old.querySelector(".view svg")?.dataset.home;
      const typed = [...old.querySelectorAll("input[id], select[id]")].filter((one) => one.form !== form && !isAsMade(one));
      const held = old.contains(document.activeElement) ? document.activeElement : null;
      old.replaceChildren(...part.childNodes);
      for (const one of typed) {
        const again = document.getElementById(one.id);
        if (again) again.value = one.value;
      }
      [...old.querySelectorAll("details")].forEach((one, n) => { if (n in open) one.open = open[n]; });
      if (held) {
        const alike = (one) => held.id ? one.id === held.id : one.name === held.name && one.textContent === held.textContent;
        [...old.querySelectorAll(held.tagName)].find(alike)?.focus({ preventScroll: true });
      }
      old.querySelectorAll(".sheet").forEach(viewer);
      const svg = old.querySelector(".view svg");
      if (svg && box && svg.dataset.home === home) svg.setAttribute("viewBox", box);
    }
    document.dispatchEvent(new Event("renewed"));
    const said = document.getElementById("wrong");
    const told = document.getElementById("told");
    if (told && button && !said) told.textContent = (document.getElementById("open") || document.querySelector("#result > p"))?.innerText || "";
    // While she types she is left where she types.
    if (said && button) { said.focus({ preventScroll: true }); said.scrollIntoView({ block: "center" }); }
  }

  const isAsMade = (entry) => entry.options ? [...entry.options].every((one) => one.selected === one.defaultSelected || (!one.selected && !one.defaultSelected)) : entry.value === entry.defaultValue;

  // Places of a form that are tapped on the drawing: an edge, a piece, a point.
  function tapping() {
    let chosen = null;
    const places = () => [...document.querySelectorAll(".tapped")].filter((one) => one.checkVisibility());
    const filled = (one) => one.dataset.tap === "corner" ? "told" in one.dataset : [...one.querySelectorAll("input, select")].every((entry) => entry.value);
    const now = () => (chosen && places().includes(chosen) ? chosen : places().find((one) => !filled(one) && !("may" in one.dataset)));
    const groups = () => [...document.querySelectorAll(".taps g[data-piece]")];
    // The piece that a spot lies on: its edges, one after the other, go round it.
    const pieceAt = (at) => groups().find((one) => {
      const ring = [...one.querySelectorAll("[data-edge]")].flatMap((line) => {
        const far = line.getTotalLength();
        return Array.from({ length: 24 }, (_, n) => line.getPointAtLength(far * n / 24));
      });
      return ring.reduce((within, a, n) => {
        const z = ring[(n + 1) % ring.length];
        return (a.y > at.y) !== (z.y > at.y) && at.x < a.x + (z.x - a.x) * (at.y - a.y) / (z.y - a.y) ? !within : within;
      }, false);
    });
    const group = (name) => groups().find((one) => one.dataset.piece === name) || (groups().length === 1 ? groups()[0] : null);
    const pieceNamed = (form) => form.elements.piece?.value || form.elements.edge?.value?.replace(/\|[^|]*$/, "") || "";
    const show = () => {
      const place = now(), hint = place?.closest("form").querySelector(".tap-hint");
      for (const one of document.querySelectorAll(".tap-hint")) one.hidden = one !== hint;
      for (const one of document.querySelectorAll(".tapped")) one.classList.toggle("now", one === place);
      if (hint) hint.textContent = `Tap: ${place.querySelector("legend, label").textContent.toLowerCase()}`;
      const edges = new Set([...document.querySelectorAll(".tapped[data-tap=edge] select")].filter((one) => one.checkVisibility()).map((one) => one.value));
      const pieces = new Set([...document.querySelectorAll("[data-says] [data-tap=piece] select")].filter((one) => one.checkVisibility()).map((one) => one.value));
      for (const line of document.querySelectorAll(".tap")) {
        const { piece } = line.parentNode.dataset;
        line.classList.toggle("on", edges.has(`${piece}|${line.dataset.edge}`) || pieces.has(piece));
      }
      points();
    };
    const points = () => {
      document.querySelectorAll(".picked").forEach((one) => one.remove());
      const taps = document.querySelector(".taps");
      const form = [...document.querySelectorAll("form:has([data-tap=point], [data-tap=corner])")].find((one) => one.checkVisibility());
      if (!taps || !form) return;
      const put = drawn(taps.parentNode, "g", { class: "picked" }), r = taps.ownerSVGElement.viewBox.baseVal.width / 120;
      const home = group(pieceNamed(form)), unit = document.querySelector(".sheet").dataset.unit;
      const spots = home ? [...form.querySelectorAll("[data-tap=point]")].map((one) => [...one.querySelectorAll("input")].map((entry) => signed(entry.value, unit))).filter((pair) => pair.every((mm) => mm !== null)) : [];
      const round = home ? [...form.querySelectorAll("[data-tap=corner] select")].map((one) => placeAt(home, Number(one.value))) : [];
      const picked = spots.map(([x, y]) => [(home.dataset.over === "1" ? -x : x) + Number(home.dataset.dx), -y - Number(home.dataset.dy)]);
      if (picked.length > 1) drawn(put, "polyline", { class: "picked-line", points: picked.map((pair) => pair.join(",")).join(" "), "stroke-width": r / 2 });
      for (const [cx, cy] of picked) drawn(put, "circle", { class: "picked-dot", cx, cy, r });
      for (const [cx, cy] of round) drawn(put, "circle", { class: "picked-corner", cx, cy, r: r * 1.8, "stroke-width": r });
      taps.after(put);
    };
    // A place so far round a piece's outline, and how far round it lies nearest to a point.
    const runs = (home) => { let from = 0; return [...home.querySelectorAll(".tap")].map((line) => { const long = line.getTotalLength(); from += long; return { line, long, from: from - long }; }); };
    const placeAt = (home, share) => {
      const all = runs(home), at = share * (all.at(-1).from + all.at(-1).long), one = all.findLast((run) => run.from <= at);
      const spot = one.line.getPointAtLength(at - one.from);
      return [spot.x, spot.y];
    };
    const shareOf = (home, at) => {
      const all = runs(home), whole = all.at(-1).from + all.at(-1).long, away = (mm) => { const [x, y] = placeAt(home, mm / whole); return Math.hypot(x - at.x, y - at.y); };
      let best = 0, step = whole / 200;
      for (let mm = 0; mm < whole; mm += step) if (away(mm) < away(best)) best = mm;
      for (; step > 0.2; step /= 2) for (const mm of [best - step, best + step]) if (mm >= 0 && mm < whole && away(mm) < away(best)) best = mm;
      return best / whole;
    };
    // Edges that are all told are told anew by tapping others.
    const again = () => {
      const all = places();
      if (all.some((one) => one.dataset.tap === "point")) return null;
      if (all[0]?.dataset.tap === "corner") { for (const one of all) delete one.dataset.told; return all[0]; }
      for (const one of all.slice(1)) one.querySelector("select").value = "";
      return all[0];
    };
    document.addEventListener("tapped", (event) => {
      const place = now() || (event.detail.target.closest?.(".tap") && again());
      if (!place) return;
      const { at, target } = event.detail, line = target.closest?.(".tap"), form = place.closest("form");
      if (place.dataset.tap === "corner") {
        const home = group(pieceNamed(form)), select = place.querySelector("select");
        select.querySelector("[data-tapped]")?.remove();
        const option = new Option("where you tapped", shareOf(home, at).toFixed(5), true, true);
        option.dataset.tapped = "";
        select.append(option);
        place.dataset.told = "";
      } else if (place.dataset.tap === "point") {
        if (form.elements.piece && !form.elements.piece.value && line) form.elements.piece.value = line.parentNode.dataset.piece;
        const home = group(pieceNamed(form)) || line?.parentNode;
        if (!home) return;
        const x = (at.x - Number(home.dataset.dx)) * (home.dataset.over === "1" ? -1 : 1), y = -at.y - Number(home.dataset.dy);
        const [across, up] = place.querySelectorAll("input");
        across.value = `${x.toFixed(1)} mm`;
        up.value = `${y.toFixed(1)} mm`;
      } else {
        const on = line?.parentNode || (place.dataset.tap === "piece" ? pieceAt(at) : null);
        if (!on) return;
        const { piece } = on.dataset, picked = place.dataset.tap === "edge" ? `${piece}|${line.dataset.edge}` : piece;
        const told = [...form.querySelectorAll("[data-tap=edge] select")];
        if (told.some((one) => one.value === picked && !place.contains(one))) return;  // a second tap on the same edge
        place.querySelector("select").value = picked;
      }
      chosen = null;
      place.querySelector("input, select").dispatchEvent(new Event("change", { bubbles: true }));
      show();
      // When all is tapped, what is pressed next is brought into view.
      const next = !now() && form.matches("[data-says]") && [...form.querySelectorAll("button")].at(-1);
      if (next) { next.focus({ preventScroll: true }); next.scrollIntoView({ block: "center" }); }
    });
    document.addEventListener("click", (event) => {
      const button = event.target.closest("[data-point]");
      if (!button) return;
      chosen = button.closest(".tapped");
      show();
      document.querySelector(".sheet")?.scrollIntoView({ block: "nearest" });
    });
    document.addEventListener("toggle", show, true);
    document.addEventListener("change", show);
    document.addEventListener("renewed", show);
    show();
  }

  const signed = (text, unit) => {
    const below = /^\s*[-\u2212]/.test(text), mm = millimetres(text.replace(/^\s*[-\u2212]\s*/, ""), unit);
    return mm === null ? null : below ? -mm : mm;
  };

  function altering() {
    const form = document.querySelector("form[data-live]");
    if (!form) return;
    let waits = 0, shown = "";
    const told = () => new URLSearchParams(new FormData(form)).toString();
    const ready = () => {
      const fields = [...form.querySelectorAll("input:not([type=hidden], [type=checkbox]), select")];
      const may = (one) => one.closest("[data-may]") || one.name.startsWith("at-");
      const places = fields.filter((one) => one.name.startsWith("at-"));
      return fields.every((one) => may(one) || one.value) && (!places.length || places.some((one) => one.value));
    };
    const show = (button) => { clearTimeout(waits); shown = told(); live(form, button); };
    const later = () => { if (told() === shown) return; clearTimeout(waits); if (ready()) waits = setTimeout(() => show(), 250); };
    form.addEventListener("submit", (event) => {
      if (event.submitter?.name) return;  // it is kept
      event.preventDefault();
      show(event.submitter);
    });
    form.addEventListener("input", later);
    form.addEventListener("change", later);
  }

  function saying() {
    document.addEventListener("submit", (event) => {
      const form = event.target;
      if (!form.matches("[data-says]") || event.submitter?.hasAttribute("formaction")) return;
      event.preventDefault();
      live(form, event.submitter);
    });
    const shared = document.querySelector("form[data-live-get]");
    let waits = 0;
    document.addEventListener("input", (event) => {
      const form = event.target.form;
      if (!form || !form.matches("[data-as-typed]")) return;
      clearTimeout(waits);
      waits = setTimeout(() => live(form, null, "draft-part"), 600);
    });
    if (shared) shared.addEventListener("input", () => {
      const part = shared.elements.part, most = Number(part.max) + 1;
      document.getElementById("parted").textContent = `${part.value}/${most} here, ${most - part.value}/${most} there`;
      clearTimeout(waits);
      waits = setTimeout(() => live(shared), 120);
    });
    const ticks = document.querySelector("form[data-kept]");
    const keep = async () => {
      const answer = await fetch(ticks.action, { method: "POST", body: new URLSearchParams(new FormData(ticks)) }).catch(() => null);
      document.getElementById("unkept").hidden = Boolean(answer?.ok);
    };
    if (ticks) ticks.addEventListener("change", keep);
  }

  // Levels of a new pattern, dragged up and down.
  function dragging() {
    let held = null, from = 0, up = 0;
    const form = () => document.querySelector("[data-levels]");
    const height = (event) => onPaper(held.ownerSVGElement, event).y;
    document.addEventListener("pointerdown", (event) => {
      if (!event.target.matches?.(".handle")) return;
      event.stopPropagation();
      held = event.target;
      from = height(event);
      held.classList.add("on");
    }, true);
    window.addEventListener("pointermove", (event) => {
      if (!held) return;
      up = from - height(event);
      held.setAttribute("transform", `translate(0 ${-up})`);
    });
    window.addEventListener("pointerup", () => {
      if (!held) return;
      const entry = document.getElementById(`level-${held.dataset.station}`), mm = Number(held.dataset.up) + up;
      held = null;
      if (entry && mm > 0 && Math.abs(up) > 0.5) { entry.value = `${mm.toFixed(1)} mm`; live(form()); }
      up = 0;
    });
  }

  // What leads to a field that is folded away opens it, and brings it beneath the drawing.
  function leading() {
    document.addEventListener("click", (event) => {
      const link = event.target.closest("a[href^='#']"), field = link && document.getElementById(link.hash.slice(1));
      if (!field || link.classList.contains("skip")) return;
      event.preventDefault();
      const folded = field.closest("details");
      if (folded) folded.open = true;
      requestAnimationFrame(() => { field.focus({ preventScroll: true }); field.scrollIntoView({ block: "center" }); });
    });
  }

  // Where a measure is taken is shown on the figure while it is filled in.
  function taken() {
    const show = (event) => {
      const name = event.type === "focusin" && event.target.name?.startsWith("girth-") ? event.target.name.slice(6) : "";
      for (const line of document.querySelectorAll("[data-taken]")) line.classList.toggle("on", line.dataset.taken === name);
    };
    document.addEventListener("focusin", show);
    document.addEventListener("focusout", show);
  }

  // A photograph takes a while to be read: it is said, and not sent twice.
  function bringing() {
    const form = document.querySelector("form.bringing"), button = form?.querySelector("button.main");
    if (!form) return;
    const told = button.textContent;
    form.addEventListener("submit", () => { button.textContent = "It is being read …"; button.setAttribute("aria-disabled", "true"); });
    form.addEventListener("click", (event) => { if (event.target === button && button.getAttribute("aria-disabled")) event.preventDefault(); });
    document.addEventListener("dragover", (event) => event.preventDefault());
    document.addEventListener("drop", (event) => {
      event.preventDefault();
      if (event.dataTransfer.files.length) form.elements.file.files = event.dataTransfer.files;
    });
    window.addEventListener("pageshow", () => { button.textContent = told; button.removeAttribute("aria-disabled"); });
  }

  // What was sent is not sent again by a second tap.
  function sending() {
    const sent = new Set();
    window.addEventListener("submit", (event) => {
      if (event.defaultPrevented || event.target.method !== "post") return;
      const form = event.target;
      if (sent.has(form)) event.preventDefault();
      sent.add(form);
      setTimeout(() => sent.delete(form), 5000);
    });
    window.addEventListener("pageshow", () => sent.clear());
  }

  // The way to the plan leads to it as it was last seen, with the ways taken instead of its own.
  function planned() {
    const link = document.querySelector("nav.ways a[href$='/plan']");
    if (!link) return;
    const place = new URL(link.href).pathname;
    if (location.pathname === place) sessionStorage.setItem(place, location.search);
    link.href = place + (sessionStorage.getItem(place) || "");
    window.addEventListener("submit", (event) => {
      if (new URL(event.target.action).pathname.startsWith(`${place}/`) && event.target.method === "post") sessionStorage.removeItem(place);
    });
  }

  // A page that says what was wrong answers something sent: going back to it, or loading it anew, asks for the page that
  // was sent from, and sends nothing again.
  function wrong() {
    const said = document.getElementById("wrong"), sent = sessionStorage.getItem("sent-from");
    sessionStorage.removeItem("sent-from");
    if (said && sent) history.replaceState(null, "", sent);
    if (said) said.focus();
    window.addEventListener("submit", (event) => {
      if (event.target.method === "post" && !event.defaultPrevented) sessionStorage.setItem("sent-from", location.href);
    });
  }

  document.querySelectorAll(".sheet").forEach(viewer);
  tapping();
  altering();
  saying();
  dragging();
  leading();
  taken();
  bringing();
  sending();
  planned();
  wrong();
  gap();
  body();
})();

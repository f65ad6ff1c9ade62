// What makes the page handier; without it every question can still be answered.
"use strict";
(() => {
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
      spot.addEventListener("click", () => { box.checked = !box.checked; show(); });
    }
  }

  gap();
  body();
})();

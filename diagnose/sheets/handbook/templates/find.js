// Finds entries of the handbook by the words that they are about, as they are typed.
"use strict";
const box = document.querySelector("p.find");
if (box) {
  for (const one of document.querySelectorAll(".find")) {
    one.hidden = false;
  }
  const list = document.querySelector("[data-found]");
  const field = box.querySelector("input");
  const told = box.querySelector("output");
  const rows = [...document.querySelectorAll("[data-words]")];
  const sections = [...document.querySelectorAll("section[data-letter]")];
  field.addEventListener("input", () => {
    const wanted = field.value.toLowerCase().split(/\s+/).filter(Boolean);
    let found = 0;
    for (const row of rows) {
      const text = `${row.textContent} ${row.dataset.words}`.toLowerCase();
      row.hidden = !wanted.every((word) => text.includes(word));
      found += row.hidden ? 0 : 1;
    }
    for (const section of sections) {
      section.hidden = !section.querySelector("[data-words]:not([hidden])");
    }
    if (list) {
      list.hidden = wanted.length === 0;
    }
    told.textContent = wanted.length ? `${found} found` : "";
  });
}

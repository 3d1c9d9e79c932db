"use strict";
// The sliders of one flower: the last move wins, a little after it.
const form = document.querySelector("form.slide");
let timer, calling;
function slide() {
  clearTimeout(timer);
  timer = setTimeout(async () => {
    if (calling) calling.abort();
    calling = new AbortController();
    const told = form.querySelector(".told");
    const asked = new URLSearchParams(new FormData(form));
    for (const key of ["plan", "order"]) asked.set(key, form.dataset[key]);
    form.setAttribute("aria-busy", "true");
    try {
      const answer = await fetch("slide?" + asked, { signal: calling.signal });
      form.setAttribute("aria-busy", "false");
      if (!answer.ok) { told.textContent = await answer.text(); return; }
      const said = await answer.json();
      told.textContent = said.text;
      for (const key of ["warmer", "at"]) {
        form.querySelector(`[data-of=${key}]`).textContent = said[key];
        form.elements[key].setAttribute("aria-valuetext", said[key]);
      }
      document.querySelector("figure").innerHTML = said.svg;
    } catch (e) {
      if (e.name !== "AbortError") told.textContent = "The program does not answer: is it still running?";
    }
  }, 20);
}
if (form) {
  form.addEventListener("input", slide);
  form.addEventListener("submit", (e) => e.preventDefault());
  // A form is reset only after this event.
  form.addEventListener("reset", () => setTimeout(slide));
}

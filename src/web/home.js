"use strict";
// Says of each event whether it lasts, one after the other: each takes a moment.
(async () => {
  for (const line of document.querySelectorAll("[data-verdict]")) {
    const told = line.querySelector(".told");
    told.textContent = "Looking\u2026";
    try {
      const answer = await fetch("verdict?file=" + line.dataset.verdict);
      if (answer.ok) told.innerHTML = await answer.text();
      else told.textContent = "Cannot be read.";
    } catch { told.textContent = "The program does not answer: is it still running?"; return; }
  }
})();

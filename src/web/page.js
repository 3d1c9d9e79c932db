"use strict";
// The page works through what the server writes; this fetches parts of it anew and puts text into the file.
const at = (id) => document.getElementById(id);
const text = at("text"), file = at("name"), plan = at("plan"), state = at("plan-state");
let saved = text.value;
// What the files that this page has read or written held then.
const was = new Map([[file.value, at("file").dataset.was]]);

const post = (path, signal, more = "") =>
  fetch(path + "?name=" + encodeURIComponent(file.value) + more, { method: "POST", body: text.value, signal });
const gone = "The program does not answer: is it still running?";

// The last call wins, a little after the last change.
function later(wait, work) {
  let timer, calling;
  return (...given) => {
    clearTimeout(timer);
    timer = setTimeout(async () => {
      if (calling) calling.abort();
      calling = new AbortController();
      try { await work(calling.signal, ...given); } catch (e) { if (e.name !== "AbortError") state.textContent = gone; }
    }, wait);
  };
}

const check = later(400, async (signal) => {
  const answer = await post("/check", signal);
  const body = await answer.text();
  show(at("problems"), answer, body);
  return answer.ok;
});

// Parts of the page come as HTML; whatever else is said comes as plain text.
function show(into, answer, body) {
  if ((answer.headers.get("content-type") || "").startsWith("text/html")) into.innerHTML = body;
  else into.textContent = body;
}

async function make() {
  if (at("make").disabled) return;
  at("make").disabled = true;
  plan.setAttribute("aria-busy", "true");
  const done = waiting("Planning");
  try {
    const answer = await post("/plan");
    const body = await answer.text();
    if (answer.ok) {
      show(at("planned"), answer, body);
      at("problems").replaceChildren();
      state.textContent = "Planned.";
      check();
    } else {
      show(at("problems"), answer, body);
      state.textContent = "No plan yet: see what is not understood, under the file.";
    }
  } catch { state.textContent = gone; }
  done();
  plan.setAttribute("aria-busy", "false");
  at("make").disabled = false;
}

async function save() {
  const written = text.value, name = file.value;
  try {
    const answer = await post("/save", undefined, "&was=" + encodeURIComponent(was.get(name) || ""));
    show(at("saved"), answer, await answer.text());
    if (!answer.ok) return;
    saved = written;
    was.set(name, answer.headers.get("etag"));
  } catch { at("saved").textContent = gone; }
}

// The plan on other days takes a moment, and is worked out when it is asked for.
async function days(box) {
  const number = box.dataset.plan;
  box.setAttribute("aria-busy", "true");
  const done = waiting("Working out other days");
  try {
    const answer = await fetch("/days/" + number);
    show(box, answer, await answer.text());
    state.textContent = "Planned, and other days worked out.";
  } catch { state.textContent = gone; }
  done();
  box.removeAttribute("aria-busy");
}

// How long it has been going on, for what takes more than a moment.
function waiting(words) {
  const began = Date.now();
  state.textContent = words + "\u2026";
  const seconds = at("seconds");
  const timer = setInterval(() => { seconds.textContent = Math.round((Date.now() - began) / 1000) + " s"; }, 1000);
  return () => { clearInterval(timer); seconds.textContent = ""; };
}

function changed() {
  if (text.value !== saved) at("saved").textContent = "Not saved yet.";
  check();
}

function put(from, to, words, mark) {
  text.setRangeText(words, from, to, "end");
  const start = from + words.indexOf(mark);
  text.focus();
  text.setSelectionRange(start, start + mark.length);
  reveal(start);
  changed();
}

function reveal(place) {
  const line = text.value.slice(0, place).split("\n").length;
  const height = parseFloat(getComputedStyle(text).lineHeight);
  text.scrollTop = Math.max(0, (line - 6) * height);
}

// Before the next section that is not part of the piece the cursor is in; otherwise at the end.
function addFlower(id) {
  const heads = [...text.value.matchAll(/^\[.*$/gm)];
  const here = text.selectionStart;
  const inside = heads.some((h) => h.index <= here && h[0].startsWith("[[piece]]"));
  const next = heads.find((h) => h.index > here && !h[0].startsWith("[[piece.") && !h[0].startsWith("[piece."));
  const place = inside && next ? next.index : text.value.length;
  const before = place && text.value[place - 1] !== "\n" ? "\n\n" : text.value[place - 2] === "\n" ? "" : "\n";
  put(place, place, `${before}[[piece.flower]]\nflower = "${id}"\nheads = 10\n${place < text.value.length ? "\n" : ""}`, "10");
}

// A section that there can be only one of, and is there, is shown instead.
function addPart(heading, words) {
  const there = heading ? text.value.search(new RegExp("^" + heading.replace(/[[\]]/g, "\\$&"), "m")) : -1;
  if (there >= 0) {
    text.focus();
    text.setSelectionRange(there, there + heading.length);
    reveal(there);
    return;
  }
  const space = text.value.match(/^\[\[space\]\][^[]*?^name = "([^"]*)"/m);
  const part = words.replace("SPACE", space ? space[1] : "");
  const last = part.startsWith("[[piece]]");
  const first = last ? -1 : text.value.search(/^\[\[(space|piece)\]\]/m);
  const place = first < 0 ? text.value.length : first;
  const gap = place && !text.value.slice(0, place).endsWith("\n\n") ? "\n" : "";
  put(place, place, gap + part, part.match(/"([^"]*)"|\d+|true/)[0].replace(/"/g, ""));
}

function addRoom(words) {
  const first = text.value.search(/^\[\[piece\]\]/m);
  const place = first < 0 ? text.value.length : first;
  const plain = words.replace(/["\\\n]/g, "");
  put(place, place, `[[space]]\nname = "${plain}"\nroom = "${plain}"\n\n`, plain);
}

const find = later(150, async (signal) => {
  const answer = await fetch("/flowers?q=" + encodeURIComponent(at("wanted").value), { signal });
  show(at("found"), answer, await answer.text());
});

const slides = new WeakMap();
function slide(form) {
  if (!slides.has(form)) slides.set(form, later(20, async (signal) => {
    const told = form.querySelector(".told");
    const asked = new URLSearchParams(new FormData(form));
    for (const key of ["plan", "order"]) asked.set(key, form.dataset[key]);
    form.setAttribute("aria-busy", "true");
    const answer = await fetch("/slide?" + asked, { signal });
    form.setAttribute("aria-busy", "false");
    if (!answer.ok) { told.textContent = await answer.text(); return; }
    const said = await answer.json();
    told.textContent = said.text;
    for (const key of ["warmer", "at"]) {
      form.querySelector(`[data-of=${key}]`).textContent = said[key];
      form.elements[key].setAttribute("aria-valuetext", said[key]);
    }
    form.parentElement.querySelector("figure").innerHTML = said.svg;
  }));
  slides.get(form)();
}

text.addEventListener("input", changed);
file.addEventListener("input", changed);
at("file").addEventListener("submit", (e) => { e.preventDefault(); make(); });
at("save").addEventListener("click", save);
at("wanted").addEventListener("input", find);
at("find").addEventListener("submit", (e) => { e.preventDefault(); find(); });
at("room").addEventListener("submit", (e) => { e.preventDefault(); if (at("words").value) addRoom(at("words").value); });
at("planned").addEventListener("input", (e) => { const form = e.target.closest("form.slide"); if (form) slide(form); });
at("planned").addEventListener("submit", (e) => e.preventDefault());
// A form is reset only after this event.
at("planned").addEventListener("reset", (e) => setTimeout(() => slide(e.target)));
document.addEventListener("click", (e) => {
  const button = e.target.closest("button");
  if (!button) return;
  if (button.dataset.flower && button.closest("#found")) addFlower(button.dataset.flower);
  if (button.id === "whatif") days(at("days"));
  if (button.dataset.part) addPart(button.dataset.heading, button.dataset.part);
  if (button.dataset.line) {
    const lines = text.value.split("\n");
    const start = lines.slice(0, button.dataset.line - 1).reduce((n, l) => n + l.length + 1, 0);
    const from = start + Number(button.dataset.column) - 1;
    text.focus();
    text.setSelectionRange(from, from + Number(button.dataset.width));
    reveal(from);
  }
});
document.addEventListener("keydown", (e) => {
  if (!(e.ctrlKey || e.metaKey)) return;
  if (e.key === "s") { e.preventDefault(); save(); }
  if (e.key === "Enter") { e.preventDefault(); make(); }
});
addEventListener("beforeunload", (e) => { if (text.value !== saved) e.preventDefault(); });
make();

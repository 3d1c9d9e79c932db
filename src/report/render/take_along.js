"use strict";
const told = JSON.parse(document.getElementById("told").textContent);
const get = (id) => document.getElementById(id);
const slider = get("hotter"), said = get("said"), rows = [...document.querySelectorAll("tbody tr[data-line]")];
const hottest = told.days[told.days.length - 1].degrees;

// What becomes of every line on a day so much hotter, by the nearest day that was worked out.
function show(degrees) {
  const word = degrees === 0 ? "as planned" : Math.abs(degrees) + " " + told.scale + (degrees > 0 ? " hotter" : " cooler") + " than planned";
  said.textContent = word;
  slider.setAttribute("aria-valuetext", word);
  const day = told.days.reduce((a, b) => (Math.abs(b.degrees - degrees) < Math.abs(a.degrees - degrees) ? b : a));
  let lost = 0;
  rows.forEach((row, i) => {
    const line = day.lines[i];
    row.querySelector(".now").textContent = line.now;
    row.querySelector(".mark").textContent = line.lasts ? "" : "too few may last: " + told.instead[i];
    row.classList.toggle("lost", !line.lasts);
    lost += line.lasts ? 0 : 1;
  });
  const beyond = degrees > hottest ? "That is hotter than was worked out; this is for " + hottest + " " + told.scale + " hotter, so expect less. " : "";
  get("verdict").textContent = beyond + (lost === 0 ? (beyond ? "" : "The plan holds.") : lost + " of " + rows.length + " lines are no longer sure. Shade and cool what you can, and place those last.");
}

// By hand: a reading from before says nothing of it any more.
function byHand() {
  get("reading").value = "";
  get("planned").textContent = "";
  show(Number(slider.value));
}

// From a thermometer in a room now to how much hotter that is than the plan has it.
function measured() {
  const room = told.rooms[get("room").selectedIndex];
  const clock = get("clock").value.split(":").map(Number);
  const typed = get("reading").value.trim();
  const reading = Number(typed.replace(",", "."));
  if (typed === "" || clock.length !== 2 || !Number.isFinite(reading)) {
    get("planned").textContent = typed === "" ? "" : "That is no temperature: type a number.";
    slider.value = 0;
    show(0);
    return;
  }
  const planned = room.by_half_hour[(clock[0] * 2 + Math.round(clock[1] / 30)) % 48];
  const hotter = Math.round(reading - planned);
  slider.value = hotter;
  get("planned").textContent = "The plan has " + Math.round(planned) + " " + told.scale + " in the " + room.name + " then.";
  show(hotter);
}

// What is ticked stays ticked where the phone lets a page remember.
function remember() {
  const ticks = [...document.querySelectorAll("ul.ticks input")];
  const kept = () => { try { return JSON.parse(localStorage.getItem(told.event)) || []; } catch { return []; } };
  const done = new Set(kept());
  ticks.forEach((tick, i) => {
    tick.checked = done.has(i);
    tick.addEventListener("change", () => {
      if (tick.checked) done.add(i); else done.delete(i);
      try { localStorage.setItem(told.event, JSON.stringify([...done])); } catch { /* it stays until the page is closed */ }
    });
  });
}

// What one person does now, and next.
function mine() {
  const person = told.people[get("who").selectedIndex];
  const clock = new Date();
  const two = (n) => String(n).padStart(2, "0");
  const here = clock.getFullYear() + "-" + two(clock.getMonth() + 1) + "-" + two(clock.getDate()) + "T" + two(clock.getHours()) + ":" + two(clock.getMinutes());
  const now = person.work.find((w) => w.from <= here && here < w.to);
  const next = person.work.find((w) => w.from > here);
  get("now").textContent = now ? now.what : "nothing";
  get("next").textContent = next ? next.what : "nothing more";
}

const now = new Date();
get("clock").value = String(now.getHours()).padStart(2, "0") + ":" + String(now.getMinutes()).padStart(2, "0");
slider.addEventListener("input", byHand);
for (const id of ["room", "clock", "reading"]) get(id).addEventListener("input", measured);
show(0);
remember();
if (get("who")) {
  get("who").addEventListener("input", mine);
  setInterval(mine, 30000);
  mine();
}

"use strict";
const told = JSON.parse(document.getElementById("told").textContent);
const get = (id) => document.getElementById(id);
const slider = get("hotter"), said = get("said"), rows = [...document.querySelectorAll("tbody tr[data-line]")];

// What becomes of every line on a day so much hotter, between the days that were worked out.
function show() {
  const degrees = Number(slider.value);
  const word = degrees === 0 ? "as planned" : Math.abs(degrees) + " " + told.scale + (degrees > 0 ? " hotter" : " cooler") + " than planned";
  said.textContent = word;
  slider.setAttribute("aria-valuetext", word);
  const day = told.days.reduce((a, b) => (Math.abs(b.degrees - degrees) < Math.abs(a.degrees - degrees) ? b : a));
  let lost = 0;
  rows.forEach((row, i) => {
    const line = day.lines[i];
    row.querySelector(".now").textContent = line.now;
    row.querySelector(".mark").textContent = line.lasts ? "" : "too few may last";
    row.classList.toggle("lost", !line.lasts);
    lost += line.lasts ? 0 : 1;
  });
  get("verdict").textContent = lost === 0 ? "The plan holds." : lost + " of " + rows.length + " lines are no longer sure: tube or swap those first, place them last, shade and cool what you can.";
}

// From a thermometer in a room now to how much hotter that is than the plan has it.
function measured() {
  const room = told.rooms[get("room").selectedIndex];
  const clock = get("clock").value.split(":").map(Number);
  const reading = Number(get("reading").value.replace(",", "."));
  if (!get("reading").value || clock.length !== 2 || !Number.isFinite(reading)) return;
  const planned = room.by_half_hour[(clock[0] * 2 + Math.round(clock[1] / 30)) % 48];
  slider.value = Math.round(reading - planned);
  get("planned").textContent = "The plan has " + Math.round(planned) + " " + told.scale + " in the " + room.name + " then.";
  show();
}

const now = new Date();
get("clock").value = String(now.getHours()).padStart(2, "0") + ":" + String(now.getMinutes()).padStart(2, "0");
slider.addEventListener("input", show);
for (const id of ["room", "clock", "reading"]) get(id).addEventListener("input", measured);
show();

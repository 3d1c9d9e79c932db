"use strict";
// The page edits the event: every change goes to the program at once, which writes it and sends the cards back.
const at = (id) => document.getElementById(id);
const root = at("event"), cards = at("cards"), bar = at("bar-in"), below = at("planned"), text = at("text");
const file = root.dataset.file, enc = encodeURIComponent;
let was = root.dataset.was, reads = root.dataset.reads === "true";
const gone = "The program does not answer: is it still running? What you typed last is not saved.";

// Which plan is the latest that was asked for, and how to stop asking.
let turn = 0, calling;

// One change after the other, each on top of what the one before it left.
let chain = Promise.resolve(), open = 0;
function send(what, body, then) {
  open += 1;
  turn += 1;
  if (calling) calling.abort();
  older();
  chain = chain.then(async () => {
    let now;
    try {
      const kind = what === "edit" ? "application/x-www-form-urlencoded" : "text/plain;charset=utf-8";
      const answer = await fetch(`${what}?file=${enc(file)}&was=${enc(was)}`, { method: "POST", headers: { "Content-Type": kind }, body });
      if (answer.ok) {
        was = answer.headers.get("etag");
        now = await answer.json();
      } else trouble(answer, await answer.text());
    } catch { at("trouble").textContent = gone; }
    open -= 1;
    if (open) return;
    if (now) show(now, then);
    else if (reads) plan();
  });
}

// Parts of the page come as HTML; whatever else is said comes as plain text.
function put(into, answer, body) {
  if ((answer.headers.get("content-type") || "").startsWith("text/html")) into.innerHTML = body;
  else into.textContent = body;
}

function trouble(answer, body) {
  put(at("trouble"), answer, body);
  if (answer.status !== 409) return;
  const anew = document.createElement("a");
  anew.href = location.href;
  anew.textContent = "Load anew";
  at("trouble").append(" ", anew);
}

// What is being typed, which cards are open and where the keyboard is stay as they are.
function show(now, then) {
  const active = document.activeElement, id = active && active.id;
  const inside = cards.contains(active);
  const typed = inside && "value" in active ? active.value : null;
  const dirty = inside && active.tagName === "INPUT" && active.value !== active.defaultValue;
  const range = dirty ? [active.selectionStart, active.selectionEnd] : null;
  const were = new Set([...cards.querySelectorAll("details[open]:not(#more-rooms)")].map((d) => d.id || d.querySelector("summary").textContent));
  const card = active && active.closest && active.closest(".card");
  cards.innerHTML = now.cards;
  for (const d of cards.querySelectorAll("details")) if (were.has(d.id || d.querySelector("summary").textContent)) d.open = true;
  const next = then && (then.startsWith("last:") ? [...cards.querySelectorAll(`#${then.slice(5)} .chip .step input`)].pop() : at(then));
  if (next) {
    for (let d = next.closest("details"); d; d = d.parentElement.closest("details")) d.open = true;
    next.focus();
    if (next.select) next.select();
  } else if (inside) {
    const again = id && at(id);
    if (again) {
      if (dirty) again.value = typed;
      again.focus();
      if (range && range[0] !== null) again.setSelectionRange(range[0], range[1]);
    } else if (card && at(card.id)) at(card.id).querySelector("summary").focus();
  }
  if (text !== active || text.value === text.dataset.sent) text.value = now.text;
  at("wrong").innerHTML = now.wrong;
  at("title").textContent = now.name || "A new event";
  at("undo").disabled = !now.undo;
  at("trouble").textContent = "";
  const clock = new Date();
  at("saved").textContent = `Saved ${String(clock.getHours()).padStart(2, "0")}:${String(clock.getMinutes()).padStart(2, "0")}`;
  reads = now.reads;
  older();
  if (reads) plan();
  else { turn += 1; bar.innerHTML = now.bar; at("bar").classList.remove("older"); }
}

// Whatever is older than the event is grey, says so, and leads nowhere.
function older() {
  at("bar").classList.add("older");
  below.classList.add("older");
  below.inert = true;
}

const pause = (ms) => new Promise((done) => setTimeout(done, ms));
async function plan() {
  const mine = ++turn;
  if (calling) calling.abort();
  calling = new AbortController();
  const ask = async (quick) => {
    const address = `plan?file=${enc(file)}&was=${enc(was)}&quick=${quick}`;
    const answer = await fetch(address, { method: "POST", signal: calling.signal });
    if (mine !== turn) return false;
    if (!answer.ok) {
      trouble(answer, await answer.text());
      return false;
    }
    const parts = await answer.json();
    if (mine !== turn) return false;
    bar.innerHTML = parts.bar;
    at("bar").classList.remove("older");
    const focus = document.activeElement && document.activeElement.dataset.strip ? document.activeElement.getAttribute("aria-label") : null;
    below.innerHTML = parts.below;
    below.classList.remove("older");
    below.inert = false;
    lay();
    if (focus) for (const s of below.querySelectorAll("[data-strip]")) if (s.getAttribute("aria-label") === focus) s.focus();
    return true;
  };
  try {
    // The full answer waits for a pause, so that it keeps no quick one waiting.
    if (await ask(true)) {
      await pause(600);
      if (mine === turn) await ask(false);
    }
  } catch (e) { if (e.name !== "AbortError") at("trouble").textContent = gone; }
}

// The value of a field, which may have a control for the day and one for the time.
const fresh = (c) => (c.tagName === "SELECT" ? ([...c.options].find((o) => o.defaultSelected) || c.options[0] || { value: "" }).value : c.defaultValue);
const controls = (field) => [...field.querySelectorAll("input, select")];
function joined(field, value) {
  const all = controls(field).map(value).map((v) => v.trim());
  // A day without a time says nothing.
  return all[all.length - 1] === "" && all.length > 1 ? "" : all.filter((v) => v).join(" ");
}
const sent = new WeakMap();
function changed(field) {
  const value = joined(field, (c) => c.value);
  const before = sent.has(field) ? sent.get(field) : joined(field, fresh);
  if (value === before) return;
  sent.set(field, value);
  send("edit", `${enc((field.dataset.op || "set") + ":" + field.dataset.path)}=${enc(value)}`);
}
const timers = new WeakMap();
function soon(key, ms, work) {
  clearTimeout(timers.get(key));
  timers.set(key, setTimeout(work, ms));
}
cards.addEventListener("change", (e) => {
  const field = e.target.closest("[data-path]");
  if (field) changed(field);
});
cards.addEventListener("input", (e) => {
  const field = e.target.closest("[data-path]");
  if (field && e.target.type === "text") soon(field, 900, () => { if (field.isConnected) changed(field); });
  const find = e.target.closest(".find");
  if (find) soon(find, 150, () => search(find));
});
// The day of a time, as an event file writes it.
function dayWords(days) {
  if (Math.abs(days) < 2) return ["day before ", "", "next day "][days + 1];
  return days < 0 ? `${-days} days before ` : `${days} days later `;
}
// The ends of a set-up time that are drawn: shown as they move, sent when they are let go.
function drawn(field) {
  const strip = field.closest(".strip"), [from, to] = strip.querySelectorAll("input");
  if (field === from) from.value = Math.min(from.value, to.value - 1);
  else to.value = Math.max(to.value, Number(from.value) + 1);
  const span = strip.querySelector(".span");
  span.setAttribute("x", from.value - from.min);
  span.setAttribute("width", to.value - from.value);
  const half = Number(field.value), day = Math.floor(half / 48), rest = half - 48 * day;
  const hour = Math.floor(rest / 2), minute = rest % 2 ? "30" : "00";
  const clock = strip.dataset.halves === "true" ? `${((hour + 11) % 12) + 1}:${minute} ${hour < 12 ? "am" : "pm"}` : `${hour}:${minute}`;
  const words = dayWords(day) + clock;
  field.setAttribute("aria-valuetext", words);
  const typed = at(field.id.replace("-drawn", "")), on = at(field.id.replace("-drawn", "-day"));
  if (typed) typed.value = clock;
  if (on) on.selectedIndex = day + 1;
  return words;
}
cards.addEventListener("input", (e) => { if (e.target.dataset.end) drawn(e.target); });
cards.addEventListener("change", (e) => {
  if (e.target.dataset.end) send("edit", `${enc(`set:${e.target.dataset.end}`)}=${enc(drawn(e.target))}`);
});
// A logger's file that was chosen or dropped is kept beside the event, and the room then names it.
async function keepReadings(field, chosen) {
  try {
    const answer = await fetch(`keep?name=${enc(chosen.name)}`, { method: "POST", headers: { "Content-Type": "application/octet-stream" }, body: chosen });
    if (answer.ok) send("edit", `${enc(`set:${field.dataset.log}`)}=${enc(chosen.name)}`);
    else trouble(answer, await answer.text());
  } catch { at("trouble").textContent = gone; }
}
cards.addEventListener("change", (e) => {
  if (e.target.dataset.log && e.target.files.length) keepReadings(e.target, e.target.files[0]);
});
const dropped = (e) => {
  const label = e.target.closest && e.target.closest("label[for$='-file']");
  return label && document.getElementById(label.htmlFor);
};
cards.addEventListener("dragover", (e) => { if (dropped(e)) e.preventDefault(); });
cards.addEventListener("drop", (e) => {
  const field = dropped(e);
  if (!field || !e.dataTransfer.files.length) return;
  e.preventDefault();
  keepReadings(field, e.dataTransfer.files[0]);
});
async function search(find) {
  const asked = find.querySelector("input").value;
  const answer = await fetch(`flowers?q=${enc(asked)}&piece=${find.dataset.piece}&on=${enc(find.dataset.on)}`);
  const body = await answer.text();
  if (find.isConnected && find.querySelector("input").value === asked) put(find.querySelector(".found"), answer, body);
}
cards.addEventListener("submit", async (e) => {
  const find = e.target.closest(".find");
  if (!find) return;
  e.preventDefault();
  await search(find);
  const first = find.querySelector(".found button");
  if (first) first.click();
});

text.addEventListener("input", () => soon(text, 900, saveText));
text.addEventListener("change", saveText);
function saveText() {
  if (text.value === text.dataset.sent) return;
  text.dataset.sent = text.value;
  send("save", text.value);
}

document.addEventListener("click", (e) => {
  const button = e.target.closest("button, a[href^='#']");
  if (!button) return;
  const data = button.dataset;
  if (data.edit) {
    const find = button.closest(".find");
    const then = data.then === "last-count" && find ? "last:" + find.dataset.piece.replace(/\./g, "-") : data.then;
    send("edit", data.edit, then);
  }
  if (data.step) {
    const input = at(data.for);
    input.value = Math.max(1, (parseInt(input.value, 10) || 0) + Number(data.step));
    const field = input.closest("[data-path]");
    soon(field, 300, () => changed(field));
  }
  if (button.id === "undo") send("undo", "");
  if (data.line) line(data);
  if (data.shift && strip) move(strip, hour + Number(data.shift));
  if (button.id === "ask-back") back();
  if (button.id === "ask-keep") keep();
});

function line(data) {
  at("file-card").open = true;
  const lines = text.value.split("\n");
  const from = lines.slice(0, data.line - 1).reduce((n, l) => n + l.length + 1, 0) + Number(data.column) - 1;
  text.focus();
  text.setSelectionRange(from, from + Number(data.width));
  text.scrollTop = Math.max(0, (data.line - 6) * parseFloat(getComputedStyle(text).lineHeight));
}

document.addEventListener("keydown", (e) => {
  if (!(e.ctrlKey || e.metaKey) || e.key !== "z" || e.shiftKey) return;
  const typing = e.target.matches("textarea") || (e.target.matches("input") && e.target.value !== e.target.defaultValue);
  if (typing || at("undo").disabled) return;
  e.preventDefault();
  send("undo", "");
});

// The ribbon: where things stand, and what would come of another hour.
let strip = null, hour = 0;
function lay() {
  strip = null;
  for (const part of below.querySelectorAll("[data-x]")) {
    part.style.left = part.dataset.x + "%";
    if (part.dataset.w) part.style.width = part.dataset.w + "%";
  }
}
const facts = (of) => JSON.parse(of.dataset.strip);
function placeOf(axis, h) {
  for (const [from, to, left, right] of axis) if (h <= to) return left + ((right - left) * Math.max(0, h - from)) / (to - from);
  return 100;
}
function hourAt(axis, x) {
  for (const [from, to, left, right] of axis) if (x <= right) return from + ((to - from) * Math.max(0, x - left)) / (right - left);
  return axis[axis.length - 1][1];
}
// Beyond a night in which the clocks change they show another hour than passes.
const shown = (f, h) => h + (f.turn && (f.turn[0] < 12 ? h < f.turn[0] : h >= f.turn[0]) ? f.turn[1] : 0);
function clock(f, passed) {
  const h = shown(f, passed);
  const minutes = Math.round(h * 60), of = ((minutes % 1440) + 1440) % 1440;
  const [hours, rest] = [Math.floor(of / 60), String(of % 60).padStart(2, "0")];
  return f.twelve ? `${((hours + 11) % 12) + 1}:${rest} ${hours < 12 ? "am" : "pm"}` : `${String(hours).padStart(2, "0")}:${rest}`;
}
const day = (f, passed) => dayWords(Math.floor(Math.round(shown(f, passed) * 60) / 1440));
// Between two hours that were tried the answer lies between theirs; the fewer of both is said.
function answer(f, h) {
  const before = [...f.tried].reverse().find((t) => t[0] <= h + 1e-9) || f.tried[0];
  const after = f.tried.find((t) => t[0] >= h - 1e-9) || before;
  const near = after[0] - before[0] < 0.75 ? after : before;
  return [1, 2, 3].map((i) => Math.min(before[i], near[i]));
}
function within(f, h) {
  const snapped = Math.round(h * 4) / 4;
  let best = null;
  for (const [from, to] of f.windows) {
    const inside = Math.min(Math.max(snapped, from), to);
    if (best === null || Math.abs(inside - snapped) < Math.abs(best - snapped)) best = inside;
  }
  return best === null ? snapped : best;
}
function move(to, h) {
  if (strip && strip !== to) back();
  const f = facts(to);
  strip = to;
  hour = within(f, h);
  const [sure, usual, poor] = answer(f, hour);
  const x = placeOf(f.axis, hour);
  to.querySelector(".blk").style.left = x + "%";
  to.setAttribute("aria-valuenow", Math.round(x));
  to.setAttribute("aria-valuetext", `${day(f, hour)}${clock(f, hour)}, sure ${sure} in 10`);
  const box = at("ask");
  to.closest(".prow").append(box);
  box.hidden = false;
  at("ask-what").textContent = `${f.piece}, ${f.name}: ${day(f, hour)}${clock(f, hour)} instead of ${day(f, f.from)}${clock(f, f.from)}?`;
  at("ask-then").textContent = `Sure ${sure} in 10. A usual delivery: ${usual} of ${f.heads} still good; a poor one: ${poor} of ${f.heads}.`;
  at("ask-back").textContent = `Back to ${day(f, f.from)}${clock(f, f.from)}`;
  at("ask-keep").textContent = `Set the ${f.piece} from ${day(f, hour)}${clock(f, hour)}`;
  glyphs(at("ask-heads"), f.heads, poor);
}
function glyphs(into, heads, good) {
  const each = Math.max(1, Math.ceil(heads / 48)), n = Math.ceil(heads / each), fine = Math.ceil(good / each);
  const uses = [...Array(n).keys()].map((i) => `<use href="#${i < fine ? "g-fresh" : "g-limp"}" x="${(i % 12) * 36}" y="${Math.floor(i / 12) * 59}" width="36" height="57"/>`);
  into.innerHTML = `<svg class="heads" viewBox="0 0 432 ${Math.ceil(n / 12) * 59}" role="img" aria-label="a poor delivery: ${good} still good, ${heads - good} not">${uses.join("")}</svg>`;
}
function back() {
  if (!strip) return;
  const f = facts(strip), box = at("ask");
  strip.querySelector(".blk").style.left = placeOf(f.axis, f.from) + "%";
  strip.setAttribute("aria-valuetext", `set ${day(f, f.from)}${clock(f, f.from)}, sure ${answer(f, f.from)[0]} in 10`);
  if (box.contains(document.activeElement)) strip.focus();
  box.hidden = true;
  strip = null;
}
function keep() {
  if (!strip) return;
  const f = facts(strip), until = Math.max(hour + Math.max(0.5, f.to - f.from), hour);
  const last = f.windows.find((w) => hour >= w[0] - 1e-9 && hour <= w[1] + 1e-9);
  const to = last ? Math.min(until, last[1]) : until;
  const set = (key, h) => `${enc(`set:${f.path}.${key}`)}=${enc(day(f, h) + clock(f, h))}`;
  at("ask").hidden = true;
  strip = null;
  send("edit", set("placed_from", hour) + "&" + set("placed_to", to));
}
below.addEventListener("pointerdown", (e) => {
  const on = e.target.closest("[data-strip]");
  if (!on) return;
  const go = (event) => {
    const box = on.getBoundingClientRect();
    move(on, hourAt(facts(on).axis, (100 * (event.clientX - box.left)) / box.width));
  };
  on.setPointerCapture(e.pointerId);
  go(e);
  on.addEventListener("pointermove", go);
  const end = () => { on.removeEventListener("pointermove", go); };
  on.addEventListener("pointerup", end, { once: true });
  on.addEventListener("pointercancel", end, { once: true });
});
below.addEventListener("keydown", (e) => {
  const on = e.target.closest("[data-strip]");
  if (!on) return;
  const f = facts(on), now = strip === on ? hour : f.from;
  const by = { ArrowLeft: -0.25, ArrowDown: -0.25, ArrowRight: 0.25, ArrowUp: 0.25, PageDown: -1, PageUp: 1 }[e.key];
  if (by) { e.preventDefault(); move(on, step(f, now, by)); }
  if (e.key === "Enter") { e.preventDefault(); keep(); }
  if (e.key === "Escape") { e.preventDefault(); back(); }
});
// A step out of one set-up time goes into the next one.
function step(f, now, by) {
  const to = within(f, now + by);
  if (to !== within(f, now)) return to;
  const edges = f.windows.map((w) => (by < 0 ? w[1] : w[0])).filter((h) => (by < 0 ? h < now : h > now));
  return edges.length ? (by < 0 ? Math.max(...edges) : Math.min(...edges)) : now;
}

// The plan on other days takes a moment, and is worked out when it is asked for.
below.addEventListener("toggle", async (e) => {
  const box = e.target;
  if (box.id !== "days" || !box.open || box.dataset.asked) return;
  box.dataset.asked = "yes";
  const into = at("days-in");
  into.textContent = "Working out other days\u2026";
  try {
    const answer = await fetch("days?plan=" + box.dataset.plan);
    put(into, answer, await answer.text());
  } catch { into.textContent = gone; }
}, true);

// What was typed before this script was there; fields are never filled in by the browser itself.
for (const field of cards.querySelectorAll("[data-path]")) if (field.querySelector("input") && !field.contains(document.activeElement)) changed(field);
if (reads && !open) plan();

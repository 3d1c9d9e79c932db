"use strict";
// Fills in today and now where nothing is written yet; all else is forms.
const now = new Date(), two = (n) => String(n).padStart(2, "0");
const today = `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
const clock = `${two(now.getHours())}:${two(now.getMinutes())}`;
const fill = (field, value) => { if (field && !field.value) field.value = value; };
fill(document.getElementById("date"), today);
fill(document.getElementById("at"), clock);
const wrong = document.getElementById("wrong");
if (wrong) wrong.focus();

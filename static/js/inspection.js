// inspection.js: what the phone adds to the inspection page. Without it the server's clock stands for the phone's.
"use strict";

const form = document.getElementById("inspection");

// The phone's clock goes along once: a second try of the same page says the same, so the record takes it as one.
const stamp = () => {
  const clock = form.querySelector("[data-device-clock]");
  if (clock.dataset.stamped) return;
  clock.value = new Date().toISOString();
  clock.dataset.stamped = "yes";
};

// A chosen photo fills its slot and leaves the list of what is missing.
const shown = (input) => {
  const slot = input.closest(".slot");
  const view = input.name.slice(2);
  const chosen = input.files.length > 0;
  slot.classList.toggle("done", chosen || slot.querySelector("img") !== null);
  slot.querySelector(".add")?.replaceChildren(chosen ? "chosen" : "+");
  const line = document.querySelector(`#missing-photos [data-view="${CSS.escape(view)}"]`);
  if (line) line.hidden = chosen;
  const count = document.querySelector("[data-open-photos]");
  if (count) count.textContent = document.querySelectorAll("#missing-photos > li:not([hidden])").length;
};

form?.addEventListener("submit", stamp);
form?.addEventListener("change", (event) => {
  if (event.target.type === "file") shown(event.target);
});

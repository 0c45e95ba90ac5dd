// sheet.js: what every page shares. The pages work without it; it moves the focus and adds keys.
"use strict";

// After a form with errors: focus its summary, else its first wrong field.
const focusFirstError = (root) => {
  const target = root.querySelector("[data-focus]") || root.querySelector("[aria-invalid='true']");
  if (target) target.focus();
};

// J and K step through the links of a list marked data-keys. They never act while a field has focus.
const isTyping = (element) => element instanceof Element && element.closest("input, select, textarea, [contenteditable]") !== null;

const stepThrough = (event) => {
  const step = { j: 1, k: -1 }[event.key.toLowerCase()];
  const list = document.querySelector("[data-keys]");
  if (!step || !list || event.ctrlKey || event.metaKey || event.altKey || isTyping(event.target)) return;
  const links = [...list.querySelectorAll("a[href]")];
  const here = links.indexOf(document.activeElement);
  const from = here >= 0 ? here : links.findIndex((link) => link.hasAttribute("aria-current"));
  const next = links[Math.min(Math.max(from + step, 0), links.length - 1)];
  if (!next) return;
  event.preventDefault();
  next.focus();
  if (list.dataset.keys === "open") next.click();
};

// A letter named by data-key chooses what bears it and goes to the first field beside it: deciding at the desk. Nothing is sent by it.
const chooseByKey = (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || isTyping(event.target)) return;
  const choice = [...document.querySelectorAll("[data-key]:not(:disabled)")].find((each) => each.dataset.key === event.key.toLowerCase());
  if (!choice) return;
  event.preventDefault();
  choice.click();
  const beside = choice.closest(".choice").querySelector("textarea, select, input:not([type='radio'])");
  (beside || choice).focus();
};

// The figure beside a slider says where it stands.
const saySlider = (event) => {
  const figure = event.target instanceof Element && event.target.matches("input[type='range']") && event.target.nextElementSibling;
  if (figure) figure.querySelector("b").textContent = event.target.value;
};

// A form is sent once: a second press while the first is on its way does nothing.
const sendOnce = (event) => {
  const form = event.target;
  if (form.method !== "post" || event.defaultPrevented) return;
  if (form.dataset.sent) event.preventDefault();
  form.dataset.sent = "yes";
};

// A button marked data-print prints the page; the browser's own command does the same.
const printPage = (event) => {
  if (event.target instanceof Element && event.target.closest("[data-print]")) window.print();
};

document.addEventListener("click", printPage);
document.addEventListener("DOMContentLoaded", () => focusFirstError(document));
document.addEventListener("htmx:afterSwap", (event) => focusFirstError(event.target));
document.addEventListener("keydown", stepThrough);
document.addEventListener("keydown", chooseByKey);
document.addEventListener("input", saySlider);
document.addEventListener("submit", sendOnce);
window.addEventListener("pageshow", () => document.querySelectorAll("form[data-sent]").forEach((form) => delete form.dataset.sent));

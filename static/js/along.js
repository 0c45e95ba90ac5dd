// along.js: strip and plan by pointer and keyboard. Without it every foundation, or reach, is a plain link in the order of the road.
// With it a drawing is one stop of the Tab key: arrow keys go along the road and across it, Home and End to its ends, Enter opens.
"use strict";

const STEPS = { ArrowRight: 1, ArrowLeft: -1, PageDown: 10, PageUp: -10, Home: -Infinity, End: Infinity };
const HINT = "Arrow keys go along the road, Home and End to its ends, Enter opens.";

const linksOf = (course) => [...course.querySelectorAll("svg a[href]")];

// Only the link that was there last takes the Tab key; the others are reached by arrows.
const stopAt = (links, stop) => links.forEach((link) => link.setAttribute("tabindex", link === stop ? "0" : "-1"));

const middleOf = (link) => {
  const box = link.getBoundingClientRect();
  return { x: box.left + box.width / 2, y: box.top + box.height / 2, high: box.height };
};

// Up and down: the nearest link above or below, on the other side of the road or in the next row of the strip.
const across = (links, from, down) => {
  const here = middleOf(from);
  const beyond = links.map((link) => ({ link, ...middleOf(link) })).filter((at) => (at.y - here.y) * down > here.high / 3);
  const far = (at) => Math.abs(at.x - here.x) + 3 * Math.abs(at.y - here.y);
  return beyond.reduce((best, at) => (best && far(best) <= far(at) ? best : at), null)?.link;
};

const goAlong = (event) => {
  const here = event.target instanceof Element && event.target.closest("[data-along] svg a[href]");
  if (!here || event.ctrlKey || event.metaKey || event.altKey || event.shiftKey) return;
  const links = linksOf(here.closest("[data-along]"));
  const down = { ArrowDown: 1, ArrowUp: -1 }[event.key];
  const step = STEPS[event.key];
  if (!down && !step) return;
  event.preventDefault();
  const next = down ? across(links, here, down) : links[Math.min(Math.max(links.indexOf(here) + step, 0), links.length - 1)];
  if (next) next.focus();
};

// What is under pointer or focus stands below the drawing. A reader hears the link's own name: only where it is, is said besides.
const say = (event) => {
  const link = event.target instanceof Element && event.target.closest("[data-along] svg a[href]");
  if (!link) return;
  const course = link.closest("[data-along]");
  course.querySelector("[data-say]").textContent = link.getAttribute("aria-label");
  if (event.type !== "focusin") return;
  const links = linksOf(course);
  stopAt(links, link);
  course.querySelector("[data-where]").textContent = `${links.indexOf(link) + 1} of ${links.length}`;
};

// The focus left the drawing: where it was is no news any more.
const forget = (event) => {
  const course = event.target instanceof Element && event.target.closest("[data-along]");
  if (course && !course.contains(event.relatedTarget)) course.querySelector("[data-where]").textContent = "";
};

const prepare = (root) => root.querySelectorAll("[data-along]").forEach((course) => {
  const links = linksOf(course);
  stopAt(links, links.find((link) => link === document.activeElement) || links[0]);
  if (links.length && window.matchMedia("(hover: hover)").matches) course.querySelector("[data-say]").textContent = HINT;
});

document.addEventListener("DOMContentLoaded", () => prepare(document));
document.addEventListener("htmx:afterSwap", () => prepare(document));
document.addEventListener("keydown", goAlong);
document.addEventListener("mouseover", say);
document.addEventListener("focusin", say);
document.addEventListener("focusout", forget);

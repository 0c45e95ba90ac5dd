// charts.js: draws the figures that a page carries as JSON. The page is whole without it: every chart has its sentence and table.
"use strict";

const CONFIG = { displayModeBar: false, responsive: true, displaylogo: false };

// A colour stands in a figure as the name of a token; what the theme (or paper) makes of it is read from the page.
const painted = (value, style) => {
  if (Array.isArray(value)) return value.map((each) => painted(each, style));
  if (value && typeof value === "object") return Object.fromEntries(Object.entries(value).map(([key, each]) => [key, painted(each, style)]));
  return typeof value === "string" && value.startsWith("--") ? style.getPropertyValue(value).trim() : value;
};

const draw = (place) => {
  const source = document.getElementById(place.dataset.figure);
  const figure = painted(JSON.parse(source.textContent), getComputedStyle(document.documentElement));
  window.Plotly.react(place, figure.data, figure.layout, CONFIG).then(fit);
  fit(place);
};

// With a view box a drawing takes the width of a sheet as it takes that of the page: subjects.css prints it as large as there is room.
const fit = (place) => place.querySelectorAll(".main-svg").forEach((svg) => {
  svg.setAttribute("viewBox", `0 0 ${svg.getAttribute("width")} ${svg.getAttribute("height")}`);
});

const drawAll = () => document.querySelectorAll("[data-figure]").forEach(draw);

document.querySelectorAll("[data-figure]").forEach((place) => { place.hidden = false; });
document.fonts.ready.then(drawAll);
window.addEventListener("resize", () => window.setTimeout(() => document.querySelectorAll("[data-figure]").forEach(fit), 0));
// Paper is always printed on paper, by night too.
window.matchMedia("print").addEventListener("change", drawAll);

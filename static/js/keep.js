// keep.js: what one types stays on the device until it was received. Of forms marked data-keep it keeps text, choices and ticks, under person
// and address: never files, passwords, codes or hidden fields. Without a script, or where the browser keeps nothing, the pages work as before.
"use strict";

{
  const AFTER_MS = 400; // after the last key
  const FORGOTTEN_MS = 7 * 24 * 3600 * 1000;
  const SENDING = "typed being sent"; // in the tab's own store: another tab's pages say nothing about this one's form
  const person = document.body.dataset.person ?? "";
  const mine = (name) => name.startsWith(`typed ${person} `);
  const watched = new Map(); // form → what is known of it
  let sending = null; // the form that is on its way

  // ---- the store: one entry a form, { at: ms, fields: { id: text or tick } }. A browser may refuse to keep anything.

  const attempt = (act, otherwise = null) => {
    try {
      return act();
    } catch {
      return otherwise;
    }
  };
  const names = () => attempt(() => Object.keys(localStorage).filter((name) => name.startsWith("typed ")), []);
  const read = (name) => attempt(() => JSON.parse(localStorage.getItem(name)));
  const write = (name, entry) => attempt(() => { localStorage.setItem(name, JSON.stringify(entry)); return true; }, false);
  const forget = (name) => attempt(() => localStorage.removeItem(name));
  const canKeep = () => {
    const kept = write("typed", "");
    forget("typed");
    return kept;
  };

  const forgetOld = () => {
    for (const name of names()) if (!(Date.now() - read(name)?.at < FORGOTTEN_MS)) forget(name);
  };

  // ---- fields

  const isKept = (field) =>
    field.name && field.matches("input, select, textarea") && !["hidden", "password", "file", "submit", "button"].includes(field.type) &&
    field.autocomplete !== "one-time-code" && !field.closest(".signature");
  const fieldsOf = (form) => [...form.elements].filter(isKept);
  const idOf = (field) => (field.type === "checkbox" ? `${field.name}=${field.value}` : field.name);
  // Null for a radio button that is not the chosen one: the chosen one speaks for all of its name.
  const valueOf = (field) => {
    if (field.type === "checkbox") return field.checked;
    if (field.type === "radio") return field.checked ? field.value : null;
    return field.value;
  };
  const isAsDrawn = (field) => {
    if (field.type === "checkbox" || field.type === "radio") return field.checked === field.defaultChecked;
    if (field.localName !== "select") return field.value === field.defaultValue;
    const drawn = [...field.options].filter((option) => option.defaultSelected);
    return drawn.length ? drawn.at(-1).selected : field.selectedIndex <= 0;
  };
  // Whether a field stands otherwise than what was kept of it, and could take that.
  const differs = (field, fields) => {
    const kept = fields[idOf(field)];
    if (kept === undefined || field.disabled) return false;
    if (field.type === "radio") return kept === field.value && !field.checked;
    if (field.localName === "select" && ![...field.options].some((option) => option.value === kept)) return false;
    return kept !== valueOf(field);
  };

  // ---- keeping

  const nameOf = (form) => {
    const path = new URL(form.getAttribute("action") || location.href, location.href).pathname; // form.action may be a button of that name
    return `typed ${person} ${path}#${form.dataset.keep}`;
  };

  const keep = (form) => {
    const known = watched.get(form);
    clearTimeout(known.timer);
    if (known.fresh) write(known.name, { at: Date.now(), fields: known.fields });
    known.fresh = false;
  };

  const note = (form, field) => {
    const known = watched.get(form);
    const value = valueOf(field);
    if (value === null) return;
    known.fields[idOf(field)] = value;
    known.touched.add(idOf(field));
    known.fresh = true;
    clearTimeout(known.timer);
    known.timer = setTimeout(keep, AFTER_MS, form);
  };

  // ---- offering

  // In the corridor's time, as all times of its pages; elsewhere in the device's.
  const when = (at) => {
    const told = { weekday: "short", day: "numeric", month: "short", hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZone: document.body.dataset.zone };
    const parts = (of) => Object.fromEntries(new Intl.DateTimeFormat("en-US", told).formatToParts(of).map(({ type, value }) => [type, value]));
    const [then, now] = [parts(at), parts(Date.now())];
    const day = ["weekday", "day", "month"].map((part) => then[part]).join(" ");
    const isToday = then.day === now.day && then.month === now.month;
    return `${isToday ? "" : `on ${day} `}at ${then.hour}:${then.minute}`;
  };
  const device = () => (document.querySelector(".phone") ? "on this phone" : "in this browser");
  const photosToo = (form) => (form.querySelector("input[type='file']") ? " Photos must be taken again." : "");

  const made = (tag, text, more = {}) => Object.assign(document.createElement(tag), { textContent: text, ...more });

  const offer = (form, entry) => {
    const box = made("section", "", { className: "note kept no-print", tabIndex: -1 });
    box.setAttribute("aria-label", "What you typed before");
    const line = made("p", `What you typed ${when(entry.at)} is still ${device()}.${photosToo(form)}`);
    line.setAttribute("role", "status");
    const buttons = made("div", "", { className: "buttons" });
    const back = made("button", "Put it back", { type: "button", className: "btn" });
    const away = made("button", "Throw it away", { type: "button", className: "btn plain" });
    const done = (said) => {
      box.focus({ preventScroll: true }); // the button that had the focus goes
      buttons.remove();
      line.textContent = said;
    };
    back.addEventListener("click", () => done(putBack(form, { ...entry.fields })));
    away.addEventListener("click", () => done(throwAway(form)));
    buttons.append(back, away);
    box.append(line, buttons);
    form.closest("details")?.setAttribute("open", "");
    form.before(box);
  };

  // Fields that were typed into since the page opened stay as they are.
  const putBack = (form, fields) => {
    const { touched } = watched.get(form);
    const typedNow = new Set(touched);
    const changed = fieldsOf(form).filter((field) => !typedNow.has(idOf(field)) && differs(field, fields));
    for (const field of changed) {
      const kept = fields[idOf(field)];
      if (field.type === "radio") field.checked = true;
      else if (field.type === "checkbox") field.checked = kept;
      else field.value = kept;
      const folded = field.closest("details");
      if (folded) folded.open = true;
    }
    for (const field of changed) for (const event of ["input", "change"]) field.dispatchEvent(new Event(event, { bubbles: true }));
    return `Put back: ${changed.length} ${changed.length === 1 ? "field" : "fields"}.${photosToo(form)}`;
  };

  const throwAway = (form) => {
    const known = watched.get(form);
    known.fields = Object.fromEntries(Object.entries(known.fields).filter(([id]) => known.touched.has(id)));
    if (known.touched.size) known.fresh = true;
    else forget(known.name);
    keep(form);
    return `Thrown away: nothing of it is kept ${device()}.`;
  };

  // A form that the server drew with what was sent holds everything: nothing is offered beside it.
  const watch = (form) => {
    if (watched.has(form)) return;
    const name = nameOf(form);
    const entry = read(name);
    watched.set(form, { name, fields: { ...entry?.fields }, touched: new Set(), fresh: false, timer: 0 });
    if (!entry || "keepSent" in form.dataset) return;
    const fields = fieldsOf(form);
    if (fields.every(isAsDrawn) && fields.some((field) => differs(field, entry.fields))) offer(form, entry);
  };

  // ---- received, or not

  // What is received is answered by a redirect, from this very page, to a page of the signed-in person. A refusal, the sign-in page, a broken
  // connection, an address typed or a link pressed in the meantime are none; whatever comes first settles it.
  const here = () => location.href.split("#")[0];
  const markSending = (name) => attempt(() => sessionStorage.setItem(SENDING, JSON.stringify({ name, from: here() })));
  const unmark = () => attempt(() => sessionStorage.removeItem(SENDING));

  const settle = () => {
    const sent = attempt(() => JSON.parse(sessionStorage.getItem(SENDING)));
    unmark();
    const isRedirected = performance.getEntriesByType("navigation")[0]?.redirectCount > 0;
    if (sent && mine(sent.name) && isRedirected && document.referrer === sent.from) forget(sent.name);
  };

  const forgetMine = () => {
    names().filter(mine).forEach(forget);
    for (const known of watched.values()) Object.assign(known, { fresh: false, fields: {} });
  };

  const send = (event) => {
    const form = event.target;
    if (event.defaultPrevented) return;
    unmark();
    if ("forget" in form.dataset) forgetMine();
    if (!watched.has(form)) return;
    keep(form);
    sending = form;
    markSending(watched.get(form).name);
  };

  // ---- leaving

  const keepAll = () => { for (const form of watched.keys()) keep(form); };
  const hasPhotos = (form) => form !== sending && [...form.querySelectorAll("input[type='file']")].some((input) => input.files.length);
  const askBeforeLeaving = (event) => {
    if ([...watched.keys()].some(hasPhotos)) event.preventDefault();
  };

  const typed = (event) => {
    const form = event.target instanceof Element ? event.target.form : null;
    if (!watched.has(form)) return;
    sending = null;
    if (event.target.type === "file") window.addEventListener("beforeunload", askBeforeLeaving);
    else if (isKept(event.target)) note(form, event.target);
  };

  const begin = () => {
    settle();
    forgetOld();
    if (!person || !canKeep()) return;
    const look = () => document.querySelectorAll("form[data-keep]").forEach(watch);
    look();
    const net = document.querySelector(".phone [data-net]");
    if (net && watched.size) net.textContent = "What you type is kept on this phone until it is received; photos are not.";
    document.addEventListener("input", typed);
    document.addEventListener("change", typed);
    document.addEventListener("submit", send);
    document.addEventListener("click", (event) => { if (event.target instanceof Element && event.target.closest("a[href]")) unmark(); });
    document.addEventListener("htmx:afterSettle", look);
    document.addEventListener("visibilitychange", () => { if (document.hidden) keepAll(); });
    window.addEventListener("pagehide", keepAll);
    window.addEventListener("pageshow", (event) => {
      sending = null;
      if (event.persisted) unmark(); // back on the form itself
    });
  };

  document.addEventListener("DOMContentLoaded", begin);
}

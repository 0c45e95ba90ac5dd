// place.js: where the phone stands, sent beside photos. Nothing is asked for before the button is pressed, never as the page opens.
// Every new page begins with it off. Refused, too late or without a script: the photos go all the same.
"use strict";

{
  const box = document.querySelector("[data-place]");
  const form = box?.closest("form");
  const button = box?.querySelector("button");
  const status = box?.querySelector("[data-place-said]");

  const FRESH_MS = 45_000; // asked again this often, so that what is sent is new
  const WAIT_MS = 20_000;
  const AHEAD_MS = 5_000; // the satellites' clock may run a little before the phone's
  const FT_M = 0.3048;
  const NB = "\u00a0";
  const ANYWAY = "Photos go without it.";

  let fix = null; // the last position
  let turn = 0; // which pressing of the button an answer belongs to: a late one says nothing
  let timer = 0;
  let sent = null; // what went along, with which photos: a second try of the same page says the same

  const isOn = () => button.getAttribute("aria-pressed") === "true";
  const say = (text) => { if (status.textContent !== text) status.textContent = text; };
  const isFresh = () => {
    const age = fix === null ? NaN : Date.now() - fix.timestamp;
    return age >= -AHEAD_MS && age <= Number(box.dataset.oldestS) * 1000;
  };

  const put = (values) => {
    for (const input of box.querySelectorAll("input[type='hidden']")) input.value = values?.[input.name.slice(4)] ?? "";
  };

  const found = (position) => {
    const { accuracy } = position.coords;
    if (!(accuracy > 0)) {
      fix = null;
      say(`On, but the phone gives a position without its accuracy. ${ANYWAY}`);
      return;
    }
    fix = position;
    if (!isFresh()) {
      say(`On, but the phone dates its position by another clock than its own. ${ANYWAY}`);
      return;
    }
    const reach = Number(box.dataset.reachFt);
    const coarse = accuracy / FT_M > reach ? ` Too coarse to tell ${reach}${NB}ft.` : "";
    say(`On. The phone knows where it stands to ±${NB}${Math.ceil(accuracy)}${NB}m.${coarse} That goes with the photos that are sent.`);
  };

  const turnOff = (text) => {
    button.setAttribute("aria-pressed", "false");
    clearInterval(timer);
    turn += 1;
    fix = null;
    say(text);
  };

  const missed = (fault) => {
    if (fault.code === fault.PERMISSION_DENIED) {
      const why = window.isSecureContext ? "it is not permitted here; the browser’s settings of this site can permit it" : "that needs a connection over https";
      turnOff(`Off. The phone does not give its position: ${why}. ${ANYWAY}`);
      return;
    }
    const why = fault.code === fault.TIMEOUT ? `gave no position within ${WAIT_MS / 1000}${NB}s` : "has no position now";
    say(isFresh() ? `On. The phone ${why}; the one before is still new enough.` : `On, but the phone ${why}. ${ANYWAY} It is asked again.`);
  };

  const ask = () => {
    const mine = turn;
    const ours = (then) => (answer) => { if (mine === turn) then(answer); };
    navigator.geolocation.getCurrentPosition(ours(found), ours(missed), { enableHighAccuracy: true, maximumAge: 0, timeout: WAIT_MS });
  };

  const press = () => {
    if (isOn()) {
      turnOff("Off. No position is read.");
      return;
    }
    turn += 1;
    button.setAttribute("aria-pressed", "true");
    say("Asking the phone where it stands …");
    ask();
    timer = setInterval(() => { if (!document.hidden) ask(); }, FRESH_MS);
  };

  const photosOf = () =>
    [...form.querySelectorAll("input[type='file']")].flatMap((input) => [...input.files].map((file) => `${input.name} ${file.name} ${file.size} ${file.lastModified}`)).join("\n");

  const packed = () => ({
    lat: fix.coords.latitude.toFixed(7),
    lon: fix.coords.longitude.toFixed(7),
    accuracy: (Math.ceil(fix.coords.accuracy * 10) / 10).toFixed(1),
    at: new Date(fix.timestamp).toISOString(),
    sent: new Date().toISOString(),
  });

  // Only with a photo, only while it is on, only a position that is new.
  const goAlong = () => {
    const photos = photosOf();
    if (sent?.photos !== photos) sent = { photos, values: photos && isOn() && isFresh() ? packed() : null };
    put(isOn() ? sent.values : null);
  };

  if (button && "geolocation" in navigator) {
    button.hidden = false;
    box.querySelector("#place-why").hidden = false;
    say("Off. No position is read.");
    button.addEventListener("click", press);
    form.addEventListener("submit", goAlong);
    form.addEventListener("change", (event) => { if (isOn() && event.target.type === "file" && event.target.files.length) ask(); });
    window.addEventListener("pageshow", () => put(null));
  }
}

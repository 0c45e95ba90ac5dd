// passkey.js: asks the browser for a passkey and sends its answer with the form that the button stands in.
// data-passkey="sign" fetches the question from data-ask first; "get" and "create" have theirs in data-options.
"use strict";

const SAYS = {
  NotAllowedError: "The passkey was not given. Nothing was sent; try again, or use another way.",
  InvalidStateError: "This device holds a passkey for you already. Nothing was sent.",
  SecurityError: "Passkeys work only under the server's name with https, or under localhost. Nothing was sent.",
};

const bytes = (text) => Uint8Array.from(atob(text.replace(/-/g, "+").replace(/_/g, "/")), (letter) => letter.charCodeAt(0));
const text = (buffer) => btoa(String.fromCharCode(...new Uint8Array(buffer))).replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");

// The question as JSON has its byte strings as base64url; the browser wants them as bytes.
const question = (options) => {
  const asked = { ...options.publicKey, challenge: bytes(options.publicKey.challenge) };
  if (asked.user) asked.user = { ...asked.user, id: bytes(asked.user.id) };
  for (const list of ["allowCredentials", "excludeCredentials"]) {
    if (asked[list]) asked[list] = asked[list].map((each) => ({ ...each, id: bytes(each.id) }));
  }
  return { publicKey: asked };
};

const answer = (credential) => {
  const response = {};
  for (const name of ["clientDataJSON", "attestationObject", "authenticatorData", "signature", "userHandle"]) {
    if (credential.response[name]) response[name] = text(credential.response[name]);
  }
  return JSON.stringify({
    id: credential.id,
    rawId: text(credential.rawId),
    type: credential.type,
    response,
    clientExtensionResults: credential.getClientExtensionResults(),
  });
};

const ask = async (button, form) => {
  if (button.dataset.passkey !== "sign") return JSON.parse(button.dataset.options);
  const headers = { "X-CSRFToken": form.elements.csrfmiddlewaretoken.value };
  const asked = await fetch(button.dataset.ask, {
    method: "POST",
    headers,
    body: new URLSearchParams({ form: form.elements.client_id.value }),
  });
  if (!asked.ok || asked.redirected) throw new Error("The server did not ask the passkey. Open the page again.");
  return asked.json();
};

const withPasskey = async (button) => {
  const form = button.form;
  const says = form.querySelector("[data-passkey-says]");
  says.hidden = true;
  if (!form.reportValidity()) return;
  button.disabled = true;
  try {
    if (!navigator.credentials) throw new DOMException("", "SecurityError");
    const asked = question(await ask(button, form));
    const given = button.dataset.passkey === "create" ? navigator.credentials.create(asked) : navigator.credentials.get(asked);
    form.querySelector("[data-passkey-answer]").value = answer(await given);
    form.requestSubmit(form.querySelector("button.main:not([type=button])"));
  } catch (fault) {
    says.textContent = SAYS[fault.name] || fault.message;
    says.hidden = false;
    button.disabled = false;
  }
};

document.addEventListener("click", (event) => {
  const button = event.target instanceof Element && event.target.closest("[data-passkey]");
  if (button) withPasskey(button);
});
// A page that comes back from the browser's memory asks anew.
window.addEventListener("pageshow", () => document.querySelectorAll("[data-passkey]").forEach((button) => { button.disabled = false; }));

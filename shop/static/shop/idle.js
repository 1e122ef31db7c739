// A shared terminal asks who is there. The server enforces the lock; this page warns before it, any key extends it,
// and what was typed is kept on this device (this tab only) and put back after the badge. PINs, files and
// form keys are never kept.

const body = document.body;
const limit = Number(body.dataset.idle ?? 0);
const WARN_S = 15;
const PING_S = 20;
const NEVER = new Set(["csrfmiddlewaretoken", "submission", "pin", "meaning", "scan", "password"]);
const place = () => `draft:${location.pathname}`;
let touched = Date.now();
let pinged = Date.now();
let leaving = false;

function fields() {
  return [...document.querySelectorAll("#work form input, #work form textarea")].filter(
    (input) => input.name && !NEVER.has(input.name) && !["password", "file", "hidden", "radio", "checkbox"].includes(input.type),
  );
}
const kept = (input, nth) => `${input.form.getAttribute("action") ?? ""}#${input.name}#${nth}`;

function keepDraft() {
  const draft = {};
  fields().forEach((input, nth) => { if (input.value !== input.defaultValue) draft[kept(input, nth)] = input.value; });
  if (Object.keys(draft).length) sessionStorage.setItem(place(), JSON.stringify(draft));
}

function putBack() {
  const draft = JSON.parse(sessionStorage.getItem(place()) ?? "{}");
  sessionStorage.removeItem(place());
  fields().forEach((input, nth) => {
    const value = draft[kept(input, nth)];
    if (value === undefined) return;
    input.value = value;
    input.dispatchEvent(new Event("input", { bubbles: true }));
  });
}

function csrf() {
  return document.querySelector("input[name=csrfmiddlewaretoken]")?.value ?? "";
}

async function extend() {
  pinged = Date.now();
  if (!body.dataset.idleExtend) return;
  try {
    const answer = await fetch(body.dataset.idleExtend, { method: "POST", headers: { "X-CSRFToken": csrf() } });
    if (answer.status === 401 || answer.status === 403) leave();
  } catch { /* no answer: the server decides when it is back */ }
}

function leave() {
  if (leaving) return;
  leaving = true;
  keepDraft();
  location.assign(body.dataset.idleLeave);
}

function touch() {
  touched = Date.now();
  const warning = document.querySelector("[data-idle-warning]");
  const warned = warning && !warning.hidden;
  if (warned) warning.hidden = true;
  if (warned || Date.now() - pinged > PING_S * 1000) extend();
}

function tick() {
  const left = Math.ceil(limit - (Date.now() - touched) / 1000);
  const warning = document.querySelector("[data-idle-warning]");
  if (left <= 0) return leave();
  if (!warning) return;
  warning.hidden = left > WARN_S;
  const count = warning.querySelector("[data-idle-count]");
  if (count && !warning.hidden) count.textContent = String(left);
}

if (limit) {
  putBack();
  for (const kind of ["keydown", "pointerdown"]) document.addEventListener(kind, touch, { capture: true, passive: true });
  document.addEventListener("htmx:afterRequest", (event) => {
    // Asking for changes (?stamp=) is not a touch, here and on the server.
    if (!/[?&]stamp=/.test(event.detail.pathInfo?.requestPath ?? "")) touched = pinged = Date.now();
  });
  setInterval(tick, 1000);
}

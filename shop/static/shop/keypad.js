// Our own keypad. Keys fill the figure field of the same form; the keyboard does the same without it.
// A field with a fixed part (data-fixed="3.06", the value drawn by the server) shows how many digits are left
// (data-digits="2"). When a whole figure is typed or scanned over a fixed part ("3.0631"), the second decimal
// sign tells so, and the fixed part gives way.

const field = (form) => form?.querySelector("input[data-figure]");

function put(input, next) {
  input.value = next;
  showLeft(input);
}

function point(input) {
  const { value } = input;
  if (!value.includes(".")) return put(input, `${value}.`);
  const fixed = input.dataset.fixed ?? "";
  if (fixed && value.startsWith(fixed)) put(input, `${value.slice(fixed.length)}.`);
}

function showLeft(input) {
  const left = input.closest(".figure-box")?.querySelector(".left-to-type");
  if (!left) return;
  const decimals = Number(input.dataset.decimals ?? 0);
  const typed = input.value;
  const after = typed.includes(".") ? typed.split(".")[1].length : -1;
  const missing = after < 0 ? Number(input.dataset.digits ?? 1) - typed.replace("-", "").length : decimals - after;
  left.textContent = "_".repeat(Math.max(0, Math.min(missing, 5)));
}

function press(input, key) {
  if (key === "back") put(input, input.value.slice(0, -1));
  else if (key === ".") point(input);
  else if (key === "-") put(input, input.value.startsWith("-") ? input.value.slice(1) : `-${input.value}`);
  else if (input.maxLength < 0 || input.value.length < input.maxLength) put(input, input.value + key);
}

document.addEventListener("click", (event) => {
  const key = event.target.closest?.("[data-keypad] [data-key]");
  const input = key && field(key.closest("form"));
  if (!input) return;
  press(input, key.dataset.key);
  input.focus({ preventScroll: true });
});

// A letter cannot stand in a figure: it is left out while typing (a scan that holds letters is caught by scan.js).
document.addEventListener("beforeinput", (event) => {
  const input = event.target;
  if (!(input instanceof HTMLInputElement) || !("figure" in input.dataset) || input.type === "password") return;
  const text = event.data;
  if (!text || event.inputType === "insertFromPaste") return;
  if (text === "." || text === ",") {
    const whole = input.selectionStart === 0 && input.selectionEnd === input.value.length;
    if (text === "," || whole || !input.value.includes(".")) return; // the server refuses a comma in words
    event.preventDefault();
    point(input);
  } else if (!/^[0-9+\-.,]+$/.test(text)) {
    event.preventDefault();
  }
});

document.addEventListener("input", (event) => {
  if (event.target instanceof HTMLInputElement && "figure" in event.target.dataset) showLeft(event.target);
});

// Another terminal's entry redraws the work; what was being typed at the same place stays.
// So do digits typed ahead while an entry is on its way to the server: they belong to the next place.
let typed = null;
let ahead = "";
let sent = null;
document.addEventListener("htmx:beforeRequest", () => { sent = document.querySelector("#work input[data-place]")?.value ?? null; });
document.addEventListener("htmx:beforeSwap", (event) => {
  const now = document.querySelector("#work input[data-place]")?.value ?? "";
  ahead = sent !== null && event.detail.requestConfig?.verb === "post" && now.startsWith(sent) ? now.slice(sent.length) : "";
  const input = "changes" in (event.detail.requestConfig?.elt?.dataset ?? {}) && document.querySelector("#work input[data-place]");
  typed = input ? { place: input.dataset.place, value: input.value } : null;
});

function ready(root) {
  // The answer to an entry comes in parts: what was typed waits for the one that holds the field.
  if (root.querySelector("input[data-place], .entry") || root.matches?.(".entry")) {
    const same = typed && root.querySelector(`input[data-place="${CSS.escape(typed.place)}"]`);
    if (same) same.value = typed.value;
    typed = null;
    const next = ahead && root.querySelector("input[data-place]:not([aria-invalid])");
    if (next) next.value += ahead;
    ahead = "";
  }
  for (const input of root.querySelectorAll("input[data-figure]")) {
    showLeft(input);
    if (document.activeElement === input) toEnd(input);
  }
}

function toEnd(input) {
  input.setSelectionRange(input.value.length, input.value.length);
}
// The browser gives a field its focus when it draws, which may be after this script has run: digits go to the end then too.
document.addEventListener("focusin", ({ target }) => {
  if (target instanceof HTMLInputElement && "figure" in target.dataset) toEnd(target);
});
ready(document);
document.addEventListener("htmx:load", (event) => ready(event.target));

// A wedge scanner types like a keyboard. A scan is recognised by what it says, wherever the focus is:
//   our labels        ~ + kind letter + : + mark + Enter, as ~G:G-042   (~ never stands in a figure; see shop/codes.py)
//   ISO/IEC 15434     [)> RS 06 GS ... EOT, with the control characters as the wedge sends them (Ctrl+] and so on)
//   a bare mark       letters in a figure field, or a quick burst while no field has the focus
// A bare figure in a figure field is a reading and is left alone. The text goes to form[data-scan], field "scan".

const QUICK_MS = 120; // between two keys of one burst; scanners need 2 to 30
const PATIENT_MS = 1500; // once a text begins as only a scan can
const CONTROL = { "]": "\x1d", "\\": "\x1c", "^": "\x1e", 6: "\x1e", d: "\x04", D: "\x04" };
let burst = { text: "", at: 0, on: null, field: null, before: "" };

function restart(now) {
  const field = document.activeElement;
  const holds = field instanceof HTMLInputElement || field instanceof HTMLTextAreaElement;
  burst = { text: "", at: now, on: field, field: holds ? field : null, before: holds ? field.value : "" };
}

const STARTS = new Set(["~", "["]); // neither stands in a figure or inside a mark
const inFigure = (field) => "figure" in (field?.dataset ?? {});

function patience() {
  const begun = STARTS.has(burst.text[0]) || ((burst.field === null || inFigure(burst.field)) && /[A-Z]/i.test(burst.text));
  return begun ? PATIENT_MS : QUICK_MS;
}

const isLabel = (text) => /^~[A-Z]:\S/i.test(text) || text.startsWith("[)>");

export function isScan(text, { figure, inField }) {
  if (isLabel(text)) return true;
  if (text.length < 3) return false;
  if (!inField) return true;
  return figure && /[A-Z]/i.test(text);
}

function send(text) {
  const form = document.querySelector("form[data-scan]");
  if (!form) return;
  form.elements.namedItem("scan").value = text;
  form.requestSubmit();
}

document.addEventListener("keydown", (event) => {
  const now = event.timeStamp;
  const third = event.getModifierState("AltGraph"); // some layouts type ~ and [ with it
  if (event.isComposing || event.metaKey || (event.altKey && !third)) return;
  if (event.key === "Enter") {
    const { field, before } = burst;
    const text = now - burst.at > patience() ? "" : burst.text;
    const scanField = field?.name === "scan";
    const told = { figure: inFigure(field), inField: field !== null };
    restart(now);
    if (scanField && isLabel(text)) field.value = text; // not behind a mark that was refused before
    if (scanField || !isScan(text, told)) return;
    event.preventDefault();
    event.stopPropagation();
    if (field) field.value = before;
    field?.dispatchEvent(new Event("input", { bubbles: true }));
    send(text);
    return;
  }
  const held = event.ctrlKey && !third;
  const control = held ? CONTROL[event.key] : undefined;
  const character = control ?? (held || event.key.length > 1 ? "" : event.key);
  if (!character) return;
  if (STARTS.has(character) || now - burst.at > patience() || document.activeElement !== burst.on) restart(now);
  if (control) {
    if (!burst.text.startsWith("[)>")) return; // an ordinary keyboard shortcut
    event.preventDefault();
  }
  burst.text += character;
  burst.at = now;
}, { capture: true });

// A refused mark stays in the field to be read; typing replaces it.
document.addEventListener("htmx:load", () => {
  const field = document.activeElement;
  if (field instanceof HTMLInputElement && field.name === "scan") field.select();
});

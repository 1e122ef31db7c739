// Every page: say when the server gives no answer, tell the size of a chosen file. Pages work without this.
const MEGA = 1024 * 1024;

document.addEventListener("change", (event) => {
  const input = event.target;
  if (!(input instanceof HTMLInputElement) || !("file" in input.dataset)) return;
  const said = input.parentElement.querySelector("[data-file-said]");
  if (!said) return;
  const files = [...input.files];
  said.textContent = files.map((file) => `${file.name}, ${(file.size / MEGA).toFixed(1)} MB`).join("; ");
});

function noAnswer(shown) {
  const place = document.querySelector("[data-no-answer]");
  if (place) place.hidden = !shown;
}
document.addEventListener("htmx:sendError", () => noAnswer(true));
document.addEventListener("htmx:timeout", () => noAnswer(true));
document.addEventListener("htmx:afterRequest", (event) => {
  if (event.detail.xhr && event.detail.xhr.status) noAnswer(event.detail.xhr.status >= 500);
});

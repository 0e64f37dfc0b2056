"use strict";
// What every page needs besides htmx.  Nothing here keeps state: that is the server's.

// A part of a page that was swapped in says so to those who do not see it.
document.addEventListener("htmx:after:swap", (event) => {
  const told = event.target && event.target.querySelector && event.target.querySelector("[data-say]");
  const said = document.getElementById("said");
  if (told && said) said.textContent = told.dataset.say;
});

// While a form is under way it cannot be sent twice.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.dataset.sent) { event.preventDefault(); return; }
  if (!form.hasAttribute("hx-post")) form.dataset.sent = "yes";
});
window.addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form[data-sent]")) delete form.dataset.sent;
});

// A part in the drawing opens its numbers, by mouse, touch, Enter or Space.
function openPart(event) {
  const part = event.target.closest && event.target.closest("svg [data-part]");
  const link = part && document.getElementById("part-" + part.dataset.part);
  if (!link) return false;
  link.click();
  return true;
}
document.addEventListener("click", openPart);
document.addEventListener("keydown", (event) => {
  if ((event.key === "Enter" || event.key === " ") && openPart(event)) event.preventDefault();
});

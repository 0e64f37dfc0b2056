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

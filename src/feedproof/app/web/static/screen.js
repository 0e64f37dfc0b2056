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

// Dragging by mouse: a part to another place of its list, a kit onto the part it is to stand at.
// The buttons beside each part do the same by keyboard and touch.
let dragged = null;
document.addEventListener("dragstart", (event) => {
  dragged = event.target.closest && event.target.closest("[data-row], [data-kit]");
});
function place(event) {
  const row = dragged && event.target.closest && event.target.closest("[data-row]");
  if (!row || row === dragged) return null;
  const list = dragged.dataset.kit ? "factory" : dragged.dataset.list;
  if (row.dataset.list !== list) return null;
  const box = row.getBoundingClientRect();
  return { row, side: event.clientY < box.top + box.height / 2 ? "before" : "after" };
}
function unmark() {
  for (const row of document.querySelectorAll(".drop-before, .drop-after")) {
    row.classList.remove("drop-before", "drop-after");
  }
}
document.addEventListener("dragover", (event) => {
  const at = place(event);
  if (!dragged) return;
  unmark();
  if (!at) return;
  event.preventDefault();
  at.row.classList.add(`drop-${at.side}`);
});
document.addEventListener("drop", (event) => {
  const at = place(event);
  const form = document.getElementById("drag-form");
  unmark();
  if (!at || !form) return;
  event.preventDefault();
  if (dragged.dataset.kit) {
    form.elements.act.value = "place-kit";
    form.elements.kit.value = dragged.dataset.kit;
    form.elements.place.value = `${at.side} ${at.row.dataset.row}`;
  } else {
    form.elements.act.value = "move-part";
    form.elements.part.value = dragged.dataset.row;
    form.elements[at.side].value = at.row.dataset.row;
  }
  form.requestSubmit();
});
document.addEventListener("dragend", () => { dragged = null; unmark(); });

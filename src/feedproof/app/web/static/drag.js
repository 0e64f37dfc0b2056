"use strict";
// A part is dragged to another place of its list, a kit onto the place where it is to stand: by
// mouse, pen or finger at its handle, or picked up with Enter and moved with the arrow keys.  What
// is sent is what the buttons send.  Nothing is sent before the part is let go over a place.
const list = document.querySelector("[data-parts]");
const dragForm = document.getElementById("drag-form");
const bubble = document.getElementById("drag-told");
const isCalm = matchMedia("(prefers-reduced-motion: reduce)");
const BEGINS_AT_PX = 5; // less is a trembling hand and no drag
const BESIDE_PX = 48; // beyond the list by more is outside: nothing moves
const EDGE_PX = 64; // nearer to the window's edge the page follows
let carried = null;
let isSwallowed = false; // the click that ends a drag is none

function titleOf(row) { return row.querySelector("a").textContent.trim(); }

// Where something may land: before or after each of these.
function places(item) {
  const wanted = item.dataset.kit ? "line" : item.dataset.list;
  return [...list.querySelectorAll("[data-row]")].filter((row) => row.dataset.list === wanted);
}

function landing(item, x, y) {
  const box = list.getBoundingClientRect();
  const isOutside = x < box.left - BESIDE_PX || x > box.right + BESIDE_PX
    || y < box.top - BESIDE_PX || y > box.bottom + BESIDE_PX;
  const rows = places(item).filter((row) => row !== item);
  if (isOutside || !rows.length) return null;
  const next = rows.find((row) => { const at = row.getBoundingClientRect(); return y < at.top + at.height / 2; });
  return next ? { row: next, side: "before" } : { row: rows.at(-1), side: "after" };
}

// A place beside itself is where it stands already.
function isOwn(item, at) {
  const rows = places(item);
  const stands = rows.indexOf(item);
  return stands >= 0 && rows[stands + (at.side === "before" ? 1 : -1)] === at.row;
}

function unmark() {
  for (const row of list.querySelectorAll(".drop-before, .drop-after")) row.classList.remove("drop-before", "drop-after");
}

function tell(words) {
  bubble.textContent = words;
  bubble.hidden = false;
  if (carried.byKeys) document.getElementById("said").textContent = words;
}

function show() {
  unmark();
  const { item, at } = carried;
  const name = titleOf(item);
  if (at && !isOwn(item, at)) {
    at.row.classList.add(`drop-${at.side}`);
    tell(`${name}: goes ${at.side} ${titleOf(at.row)}`);
  } else tell(at ? `${name}: stays where it is` : `${name}: let go here and nothing moves`);
}

function end() {
  const { item, handle, pointer } = carried;
  carried = null;
  unmark();
  bubble.hidden = true;
  item.classList.remove("carried");
  item.style.translate = "";
  handle.setAttribute("aria-pressed", "false");
  document.body.classList.remove("dragging");
  if (pointer !== null && handle.hasPointerCapture(pointer)) handle.releasePointerCapture(pointer);
}

function cancel() {
  const { item, byKeys } = carried;
  if (byKeys) tell(`${titleOf(item)}: stays where it is`);
  end();
}

function drop() {
  const { item, at } = carried;
  end();
  if (!at || isOwn(item, at)) return;
  // Each field is written anew: a browser keeps what an earlier drag left in them.
  const fields = { act: "move-part", part: item.dataset.row || "", before: "", after: "", kit: "", place: "" };
  if (item.dataset.kit) {
    fields.act = "place-kit";
    fields.kit = item.dataset.kit;
    fields.place = `${at.side} ${at.row.dataset.row}`;
  } else fields[at.side] = at.row.dataset.row;
  for (const [name, value] of Object.entries(fields)) dragForm.elements[name].value = value;
  dragForm.requestSubmit();
}

function lift() {
  const box = carried.item.getBoundingClientRect();
  carried.up = -(box.top + scrollY);
  carried.down = document.documentElement.scrollHeight - (box.bottom + scrollY);
  carried.item.classList.add("carried");
  carried.handle.setAttribute("aria-pressed", "true");
}

// The page follows a pointer at its edge, as long as it is held there.
function follow() {
  if (!carried || !carried.isMoving) return;
  const above = EDGE_PX - carried.y;
  const below = carried.y - (innerHeight - EDGE_PX);
  const step = above > 0 ? -above / 5 : Math.max(0, below) / 5;
  const before = scrollY;
  if (step) scrollBy(0, step);
  if (scrollY !== before) { carried.startY -= scrollY - before; moved(); }
  requestAnimationFrame(follow);
}

function moved() {
  const { item, x, y, startY, up, down } = carried;
  // Down the page only, and not beyond its end: the page would grow without end.
  if (!isCalm.matches) item.style.translate = `0 ${Math.max(up, Math.min(down, y - startY))}px`;
  carried.at = landing(item, x, y);
  show();
}

function grab(event) {
  const handle = event.target.closest("[data-handle]");
  const isAgain = Boolean(carried && carried.byKeys && carried.handle === handle);
  // A second finger, or a press elsewhere, leaves everything where it is.
  if (carried) { cancel(); if (!isAgain) return; }
  if (!handle || event.button !== 0 || !event.isPrimary) return;
  isSwallowed = isAgain;
  handle.setPointerCapture(event.pointerId);
  carried = {
    item: handle.closest("[data-row], [data-kit]"), handle, pointer: event.pointerId, at: null,
    startX: event.clientX, startY: event.clientY, x: event.clientX, y: event.clientY,
    isMoving: false, byKeys: false,
  };
}

function drag(event) {
  if (!carried || event.pointerId !== carried.pointer) return;
  carried.x = event.clientX;
  carried.y = event.clientY;
  if (!carried.isMoving) {
    if (Math.hypot(carried.x - carried.startX, carried.y - carried.startY) < BEGINS_AT_PX) return;
    carried.isMoving = true;
    document.body.classList.add("dragging");
    lift();
    requestAnimationFrame(follow);
  }
  moved();
}

function release(event) {
  setTimeout(() => { isSwallowed = false; });
  if (!carried || event.pointerId !== carried.pointer) return;
  if (!carried.isMoving) { end(); return; }
  isSwallowed = true;
  drop();
}

// Enter, Space, or a press without a drag, picks up and lets go; the arrow keys choose the place.
function pick(event) {
  const handle = event.target.closest("[data-handle]");
  if (!handle) return;
  if (isSwallowed) { isSwallowed = false; return; }
  if (carried) { drop(); return; }
  const item = handle.closest("[data-row], [data-kit]");
  carried = { item, handle, pointer: null, at: null, isMoving: false, byKeys: true };
  lift();
  tell(`${titleOf(item)}: picked up. Arrow keys choose its place, Enter lets it go there, Escape leaves it where it is.`);
}

function choose(step) {
  const { item, at } = carried;
  // Every gap of the list, in order; a gap is named by the part that follows it.
  const rows = places(item).filter((row) => row !== item);
  const stands = places(item).indexOf(item);
  const gap = !at ? Math.max(0, stands) : rows.indexOf(at.row) + (at.side === "after" ? 1 : 0);
  const next = Math.min(rows.length, Math.max(0, gap + (at || stands >= 0 ? step : 0)));
  if (!rows.length) return;
  carried.at = next < rows.length ? { row: rows[next], side: "before" } : { row: rows.at(-1), side: "after" };
  show();
  carried.at.row.scrollIntoView({ block: "nearest" });
}

function key(event) {
  if (!carried) return;
  if (event.key === "Escape") {
    event.preventDefault();
    isSwallowed = carried.isMoving;
    cancel();
  } else if (carried.byKeys && (event.key === "ArrowUp" || event.key === "ArrowDown")) {
    event.preventDefault();
    choose(event.key === "ArrowUp" ? -1 : 1);
  }
}

if (list && dragForm && bubble) {
  for (const handle of document.querySelectorAll("[data-handle]")) {
    handle.hidden = false;
    handle.addEventListener("contextmenu", (event) => event.preventDefault());
    handle.addEventListener("blur", () => { if (carried && carried.byKeys) cancel(); });
  }
  document.addEventListener("pointerdown", grab);
  document.addEventListener("pointermove", drag);
  document.addEventListener("pointerup", release);
  document.addEventListener("pointercancel", (event) => { if (carried && event.pointerId === carried.pointer) cancel(); });
  document.addEventListener("click", pick);
  document.addEventListener("keydown", key);
  window.addEventListener("blur", () => { if (carried) cancel(); });
}

"use strict";
// Sliders that redraw while they are dragged: one request under way at most, the newest question
// always asked last; the axes stand still until the slider rests.
const form = document.getElementById("question");
const answer = document.getElementById("answer");
let underWay = false;
let waiting = null;

function axes() {
  const held = document.getElementById("axes");
  return held ? {
    "axis-depression": held.dataset.axisDepression, "axis-feed_margin": held.dataset.axisFeedMargin,
  } : {};
}

function question(dragging) {
  const asked = new URLSearchParams();
  for (const field of form.elements) {
    if (!field.name || !field.value) continue;
    // What nobody touched stays exactly as the case declares it, not as a slider rounds it.
    // Its value alone cannot tell: a browser moves it to a whole step when the page is loaded.
    if (field.type === "range" && !field.dataset.touched) continue;
    asked.append(field.name, field.value);
  }
  const kept = asked.toString();
  asked.set("width", String(Math.floor(answer.clientWidth)));
  if (dragging) {
    asked.set("drag", "yes");
    for (const [name, ends] of Object.entries(axes())) if (ends) asked.set(name, ends);
  }
  return { kept, asked: asked.toString(), dragging };
}

function swap(text, dragging) {
  const fresh = new DOMParser().parseFromString(text, "text/html");
  if (!dragging) { answer.replaceChildren(...fresh.body.childNodes); return; }
  for (const part of fresh.body.querySelectorAll("[id]")) {
    if (!/^(told|figures-first|svg-|says-)/.test(part.id)) continue;
    const old = document.getElementById(part.id);
    // Whole pictures are swapped: a part of one would be made in the wrong namespace.
    if (old) old.replaceWith(part);
  }
}

async function ask(next) {
  if (underWay) { waiting = next; return; }
  underWay = true;
  try {
    const reply = await fetch(`${form.dataset.live}?${next.asked}`, { headers: { "HX-Request": "true" } });
    swap(await reply.text(), next.dragging);
    if (!next.dragging) history.replaceState(null, "", next.kept ? `?${next.kept}` : location.pathname);
    const map = document.getElementById("to-map");
    if (map) map.href = `${location.pathname}/map${next.kept ? `?${next.kept}` : ""}`;
    document.dispatchEvent(new CustomEvent("feedproof:drawn"));
  } catch {
    document.getElementById("said").textContent = "The server does not answer; is it still running?";
  } finally {
    underWay = false;
    const later = waiting;
    waiting = null;
    if (later) ask(later);
  }
}

function shown(field) {
  const out = form.querySelector(`output[for="${field.name}"]`);
  const comma = document.body.dataset.decimal === "comma";
  if (out) out.textContent = comma ? field.value.replace(".", ",") : field.value;
}

if (form && answer) {
  form.addEventListener("input", (event) => {
    const field = event.target;
    if (field.type !== "range") return;
    field.dataset.touched = "yes";
    if (field.name === "loading_share") {
      for (const other of form.querySelectorAll('input[name^="loading."]')) delete other.dataset.touched;
    }
    shown(field);
    ask(question(true));
  });
  form.addEventListener("change", (event) => {
    // Another fuel, base or kit has sliders of its own, so the whole page is asked for.
    if (event.target.hasAttribute("data-whole")) location.search = question(false).kept;
    else ask(question(false));
  });
  form.addEventListener("submit", (event) => { event.preventDefault(); ask(question(false)); });
  // Pictures are drawn for the width of their container.
  ask(question(false));
  let width = answer.clientWidth;
  new ResizeObserver(() => {
    if (Math.abs(answer.clientWidth - width) < 16) return;
    width = answer.clientWidth;
    ask(question(false));
  }).observe(answer);
}

// The walk with script: each word is kept on this device first and sent when it can be; the walk goes on at once.
"use strict";

(() => {
  const walk = document.querySelector(".walk-steps");
  if (!walk || !window.boothwright) return;
  const { keep, kept, newId } = window.boothwright;

  const steps = Array.from(walk.querySelectorAll("section[data-task]"));
  const byTask = (task) => steps.find((step) => step.dataset.task === task);
  const WORDS = { fine: "fine", done: "done", attention: "wants attention", "cannot-tell": "could not tell", skipped: "skipped" };

  // Says at the step and in the list at the end what was said; a later word corrects this one.
  const mark = (step, entry, outcome, note, state) => {
    step.dataset.recorded = entry;
    step.dataset.state = state;
    const place = step.querySelector(".recorded");
    const word = document.createElement("strong");
    word.textContent = WORDS[outcome] || outcome;
    place.replaceChildren(state === "sent" ? "Written down: " : "Kept on this device: ", word, note ? ` “${note}”` : "");
    place.hidden = false;
    const link = walk.querySelector(`[data-step-link="${step.dataset.step}"] .said`);
    if (link) link.textContent = WORDS[outcome] || outcome;
    settle(step, outcome);
    count();
  };

  // What wants attention stands first at the end of the walk, with its ways on.
  const settle = (step, outcome) => {
    const own = walk.querySelector(`[data-settle="${step.dataset.step}"]`);
    if (!own) return;
    own.hidden = outcome !== "attention";
    own.parentElement.hidden = !own.parentElement.querySelector("[data-settle]:not([hidden])");
  };

  const count = () => {
    const done = steps.filter((step) => !step.querySelector(".recorded").hidden).length;
    walk.querySelectorAll("progress").forEach((bar) => { bar.value = done; });
    const end = walk.querySelector("#step-end .lead");
    if (end) end.textContent = `${done} of ${steps.length} steps said.`;
  };

  const value = (item, name) => (item.fields.find(([key]) => key === name) || [])[1] || "";

  // What is kept from before a reload.
  kept().filter((item) => value(item, "walk") === walk.dataset.walk).forEach((item) => {
    const step = byTask(value(item, "task"));
    if (step) mark(step, value(item, "corrects") || item.id, value(item, "outcome"), value(item, "note"), "kept");
  });

  document.addEventListener("boothwright:sent", (event) => {
    const item = event.detail;
    const step = value(item, "walk") === walk.dataset.walk && byTask(value(item, "task"));
    if (step) mark(step, value(item, "corrects") || item.id, value(item, "outcome"), value(item, "note"), "sent");
  });

  walk.addEventListener("submit", (event) => {
    const form = event.target;
    const pressed = event.submitter;
    if (!pressed || form.dataset.plain) return;
    event.preventDefault();
    const step = form.closest("section[data-task]");
    const photo = form.elements.photo.files[0];
    const fields = [];
    new FormData(form).forEach((said, name) => {
      if (typeof said === "string" && name !== "next" && name !== "corrects" && name !== "id") fields.push([name, said]);
    });
    const id = newId();
    fields.push(["id", id], ["outcome", pressed.value]);
    const earlier = step.dataset.recorded;
    if (earlier) fields.push(["corrects", earlier]);
    const words = `${step.querySelector("h2").textContent}, ${WORDS[pressed.value] || pressed.value}`;
    const item = { id, address: form.getAttribute("action"), fields, words, made: Date.now() };
    keep(item, photo).then(() => {
      mark(step, earlier || id, pressed.value, form.elements.note.value, "kept");
      form.querySelector("details").open = false;
      form.elements.photo.value = "";
      location.hash = form.elements.next.value;
      window.scrollTo(0, 0);
    }).catch(() => {
      // This device cannot keep anything: send it the plain way.
      form.dataset.plain = "yes";
      form.requestSubmit(pressed);
    });
  });

  // The first step is shown without a fragment; the bar of results stays in reach after a jump.
  window.addEventListener("hashchange", () => {
    const at = document.getElementById(location.hash.slice(1));
    if (at) { window.scrollTo(0, 0); const head = at.querySelector("h2"); if (head) { head.tabIndex = -1; head.focus({ preventScroll: true }); } }
  });
})();

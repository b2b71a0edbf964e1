// Works out at every key what a form says: the server reckons, this page shows. Without it a button of the form does.
//
// The form names where to ask (data-figures) and where the answers stand (data-answers); fields that are to be reckoned
// lie within [data-figured].
(() => {
  "use strict";
  const form = document.querySelector("form[data-figures]");
  const answers = form && document.getElementById(form.dataset.answers);
  if (!answers) return;
  const fields = "[data-figured] [name]";

  // What was folded out stays so when the answers are put in anew.
  const nameOf = (details) => {
    const section = details.closest("[data-answer]");
    return `${section ? section.dataset.answer : ""}/${details.querySelector("summary")?.textContent ?? ""}`;
  };
  const put = (fragment) => {
    const open = new Set([...answers.querySelectorAll("details[open]")].map(nameOf));
    answers.innerHTML = fragment;
    answers.querySelectorAll("details").forEach((details) => { if (open.has(nameOf(details))) details.open = true; });
  };

  const placeOf = (field) => {
    const there = field.querySelector(".problem");
    if (there) return there;
    const made = document.createElement("span");
    made.className = "problem";
    field.append(made);
    return made;
  };
  const tell = (problems) => {
    form.querySelectorAll("[data-figured] [data-field]").forEach((field) => {
      const words = problems[field.dataset.field] ?? "";
      field.classList.toggle("wrong", words !== "");
      const control = field.querySelector("input, select, textarea");
      if (words) control.setAttribute("aria-invalid", "true"); else control.removeAttribute("aria-invalid");
      if (words || field.querySelector(".problem")) placeOf(field).textContent = words;
    });
  };

  let asking = null;
  const reckon = async () => {
    asking?.abort();
    asking = new AbortController();
    const mine = asking;
    const given = new URLSearchParams();
    form.querySelectorAll(fields).forEach((control) => {
      if (control.type !== "checkbox" || control.checked) given.append(control.name, control.value);
    });
    const began = performance.now();
    try {
      const answer = await fetch(`${form.dataset.figures}?${given}`, { signal: mine.signal });
      if (!answer.ok) throw new Error(String(answer.status));
      const told = await answer.json();
      if (mine !== asking) return;
      // Nothing to show: what is typed is not whole, and the last answers stay.
      if (told.answers !== null) put(told.answers);
      tell(told.problems);
      answers.dataset.reckoned = String(Math.round(performance.now() - began));
      answers.classList.remove("stale");
    } catch (error) {
      // A lost connection leaves the last answers, marked as such.
      if (error.name !== "AbortError") answers.classList.add("stale");
    }
  };
  form.addEventListener("input", (event) => { if (event.target.closest("[data-figured]")) reckon(); });
})();

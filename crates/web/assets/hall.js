// Works out a hall's set-up at every key: the server reckons, this page shows. Without it the button "Work it out" does.
(() => {
  "use strict";
  const form = document.getElementById("hall-form");
  const answers = document.getElementById("hall-answers");
  if (!form || !answers) return;

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

  const tell = (problems) => {
    form.querySelectorAll(".hall-fields [data-field]").forEach((field) => {
      const words = problems[field.dataset.field] ?? "";
      field.classList.toggle("wrong", words !== "");
      const control = field.querySelector("input, select");
      if (words) control.setAttribute("aria-invalid", "true"); else control.removeAttribute("aria-invalid");
      field.querySelector(".problem").textContent = words;
    });
  };

  let asking = null;
  const reckon = async () => {
    asking?.abort();
    asking = new AbortController();
    const mine = asking;
    const given = new URLSearchParams();
    form.querySelectorAll(".hall-fields [name]").forEach((control) => given.append(control.name, control.value));
    const began = performance.now();
    try {
      const answer = await fetch(`${form.dataset.figures}?${given}`, { signal: mine.signal });
      if (!answer.ok) throw new Error(String(answer.status));
      const told = await answer.json();
      if (mine !== asking) return;
      put(told.answers);
      tell(told.problems);
      answers.dataset.reckoned = String(Math.round(performance.now() - began));
      answers.classList.remove("stale");
    } catch (error) {
      // A lost connection leaves the last answers, marked as such.
      if (error.name !== "AbortError") answers.classList.add("stale");
    }
  };
  form.addEventListener("input", (event) => { if (event.target.closest(".hall-fields")) reckon(); });
})();

// The rewind bench with script: large buttons write the lines of what was found; what is written stays on this device
// until the server has it. Without it the lines are typed.
"use strict";

(() => {
  const form = document.getElementById("bench-form");
  if (!form) return;
  const at = document.getElementById("bench-at");
  const to = document.getElementById("bench-to");
  const lines = form.querySelector("[name=found_lines]");
  const problem = document.getElementById("bench-problem");
  const draft = `boothwright.bench.${form.getAttribute("action")}`;
  document.querySelectorAll(".bench-place, .bench-buttons, .bench-known button").forEach((part) => { part.hidden = false; });

  const add = (line) => {
    const before = lines.value.replace(/\s+$/, "");
    lines.value = before ? `${before}\n${line}` : line;
    lines.rows = Math.max(3, lines.value.split("\n").length + 1);
    remember();
  };

  form.addEventListener("click", (event) => {
    const button = event.target.closest("button[data-line], button[data-whole]");
    if (!button) return;
    if (button.dataset.whole) {
      add(button.dataset.whole);
      button.disabled = true;
      return;
    }
    if (!at.value.trim()) {
      problem.textContent = "Where? Write the place first, for example 40 ft + 12 or 12.4 m.";
      at.focus();
      return;
    }
    const place = to.value.trim() ? `${at.value.trim()} to ${to.value.trim()}` : at.value.trim();
    add(`${place} ${button.dataset.line}`);
    problem.textContent = `Added: ${place} ${button.textContent.toLowerCase()}`;
    to.value = "";
  });

  // A reload or a flat battery loses nothing.
  const fields = () => Array.from(form.elements).filter((one) => one.name && one.name !== "id" && one.type !== "hidden");
  const remember = () => {
    try {
      const said = fields().map((one) => [one.name, one.value]);
      localStorage.setItem(draft, JSON.stringify(said));
    } catch {
      // Storage is shut off: then a reload forgets, and nothing else is lost.
    }
  };
  const forget = () => { try { localStorage.removeItem(draft); } catch { /* Nothing was kept. */ } };
  try {
    const said = new Map(JSON.parse(localStorage.getItem(draft) || "[]"));
    const refused = document.querySelector(".problems");
    fields().forEach((one) => { if (!refused && said.get(one.name)) one.value = said.get(one.name); });
  } catch {
    forget();
  }
  form.addEventListener("input", remember);

  const { keep, newId } = window.boothwright || {};
  let sent = "";
  form.addEventListener("submit", (event) => {
    if (!keep || form.dataset.plain) { forget(); return; }
    event.preventDefault();
    // A plain look at the lines by the server comes first, if it can be reached; so a slip is told beside its field.
    const id = newId();
    const said = [];
    new FormData(form).forEach((value, name) => { if (typeof value === "string" && name !== "id") said.push([name, value]); });
    said.push(["id", id]);
    const item = { id, address: form.getAttribute("action"), fields: said, words: form.dataset.words, made: Date.now() };
    if (navigator.onLine) {
      const body = new URLSearchParams(said);
      fetch(item.address, { method: "POST", body, headers: { Accept: "application/json" }, credentials: "same-origin" })
        .then(async (answer) => {
          const told = await answer.json();
          if (answer.ok && told.entry === id) { forget(); location.assign(form.dataset.onwards); return; }
          if (!told.problem) throw new Error("try later");
          problem.textContent = `${told.problem} ${told.would_be_right || ""}`.trim();
          problem.scrollIntoView({ block: "center" });
        })
        .catch(() => keepIt(item));
      return;
    }
    keepIt(item);
  });

  const keepIt = (item) => keep(item).then(() => {
    sent = item.id;
    forget();
    form.querySelector("button.main").disabled = true;
    document.getElementById("bench-kept").hidden = false;
  }).catch(() => {
    form.dataset.plain = "yes";
    form.requestSubmit();
  });

  document.addEventListener("boothwright:sent", (event) => {
    if (event.detail.id === sent) location.assign(form.dataset.onwards);
  });
})();

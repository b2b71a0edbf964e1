// The time zone of this browser, offered on the first page, and the time that it is in the zone that is typed.
"use strict";

(() => {
  const field = document.querySelector("#first-run [name=zone]");
  if (!field) return;
  const own = Intl.DateTimeFormat().resolvedOptions().timeZone;
  const untouched = field.value === field.defaultValue && !document.querySelector(".problem");
  // The server knows only the zone of its own computer; who sits here is in the browser's.
  if (own && untouched) field.value = own;
  const told = document.createElement("span");
  told.className = "hint";
  told.id = "zone-time";
  told.setAttribute("role", "status");
  field.insertAdjacentElement("afterend", told);
  const tell = () => {
    try {
      const time = new Intl.DateTimeFormat("en-GB", { timeZone: field.value, hour: "2-digit", minute: "2-digit" });
      told.textContent = `It is ${time.format(new Date())} there now.`;
    } catch {
      told.textContent = "";
    }
  };
  field.addEventListener("input", tell);
  tell();
})();

// The outbox: what was said on this device and has not reached the server yet.
//
// Each item lies in localStorage under a key of its own, so that two tabs never overwrite each other. It is taken away
// only when the server has answered with the item's own id: whatever is lost on the way is sent again, and the server
// writes an id once. Photos lie in IndexedDB under the same id, for localStorage is too small for them.
"use strict";

(() => {
  const KEPT = "boothwright.kept.";
  const FIRST_PAUSE_MS = 1000;
  const LONGEST_PAUSE_MS = 30000;
  const PATIENCE_MS = 20000;

  // A UUIDv7 (RFC 9562, section 5.7): 48 bits of time, then random bits. crypto.randomUUID is not there on plain http.
  const newId = () => {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    let now = Date.now();
    for (let at = 5; at >= 0; at -= 1) {
      bytes[at] = now % 256;
      now = Math.floor(now / 256);
    }
    bytes[6] = (bytes[6] & 0x0f) | 0x70;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
    return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
  };

  const kept = () => {
    const items = [];
    try {
      for (let at = 0; at < localStorage.length; at += 1) {
        const key = localStorage.key(at);
        if (key && key.startsWith(KEPT)) {
          const item = JSON.parse(localStorage.getItem(key));
          if (item && item.id) items.push(item);
        }
      }
    } catch {
      // Storage is shut off: then nothing is kept, and forms are sent the plain way.
    }
    return items.sort((one, other) => one.made - other.made || one.number - other.number);
  };

  const store = (item) => localStorage.setItem(KEPT + item.id, JSON.stringify(item));
  const forget = async (id) => {
    localStorage.removeItem(KEPT + id);
    await photos("readwrite", (box) => box.delete(id)).catch(() => {});
  };

  // ---- photos ----

  const photos = (mode, work) => new Promise((done, failed) => {
    const opening = indexedDB.open("boothwright", 1);
    opening.onupgradeneeded = () => opening.result.createObjectStore("photos");
    opening.onerror = () => failed(opening.error);
    opening.onsuccess = () => {
      const base = opening.result;
      const deal = base.transaction("photos", mode);
      const asked = work(deal.objectStore("photos"));
      deal.oncomplete = () => { base.close(); done(asked.result); };
      deal.onabort = deal.onerror = () => { base.close(); failed(deal.error); };
    };
  });

  const sendPhoto = async (item) => {
    const photo = await photos("readonly", (box) => box.get(item.id)).catch(() => undefined);
    if (!photo) return true;
    const answer = await post("/attachments", photo, photo.type || "application/octet-stream");
    const said = await answer.json().catch(() => ({}));
    if (!answer.ok) return refused(item, answer, said);
    if (!said.attachment) throw new Error("not our server");
    item.fields.push(["photos", said.attachment]);
    item.photo = false;
    store(item);
    await photos("readwrite", (box) => box.delete(item.id)).catch(() => {});
    return true;
  };

  // ---- sending ----

  const post = (address, body, type) => {
    const headers = { Accept: "application/json" };
    if (type) headers["Content-Type"] = type;
    const signal = AbortSignal.timeout ? AbortSignal.timeout(PATIENCE_MS) : undefined;
    return fetch(address, { method: "POST", body, headers, signal, credentials: "same-origin" });
  };

  // A refusal cannot be cured by sending again; it is kept and shown until somebody decides.
  const refused = (item, answer, said) => {
    if (answer.status >= 500 || answer.status === 408 || answer.status === 429 || !said.problem) {
      throw new Error("try later");
    }
    item.refused = `${said.problem} ${said.would_be_right || ""}`.trim();
    store(item);
    return false;
  };

  const send = async (item) => {
    if (item.photo && !(await sendPhoto(item))) return;
    const body = new URLSearchParams(item.fields);
    body.set("kept_seconds", String(Math.max(0, (Date.now() - item.made) / 1000)));
    const answer = await post(item.address, body);
    const said = await answer.json().catch(() => ({}));
    if (answer.ok && said.entry === item.id) {
      await forget(item.id);
      document.dispatchEvent(new CustomEvent("boothwright:sent", { detail: item }));
      return;
    }
    refused(item, answer, said);
  };

  let busy = false;
  let pause = FIRST_PAUSE_MS;
  let timer = 0;

  const sendAll = async () => {
    clearTimeout(timer);
    if (busy) return;
    busy = true;
    try {
      for (const item of kept().filter((one) => !one.refused)) {
        await send(item);
        pause = FIRST_PAUSE_MS;
        show();
      }
    } catch {
      timer = setTimeout(sendAll, pause * (0.75 + Math.random() / 2));
      pause = Math.min(pause * 2, LONGEST_PAUSE_MS);
    } finally {
      busy = false;
      show();
    }
    // Something may have been kept while the last item was on its way.
    if (!timer && kept().some((one) => !one.refused)) timer = setTimeout(sendAll, FIRST_PAUSE_MS);
  };

  const sendSoon = () => {
    timer = 0;
    pause = FIRST_PAUSE_MS;
    sendAll();
  };

  // ---- telling ----

  const button = (words, deed) => {
    const made = document.createElement("button");
    made.type = "button";
    made.textContent = words;
    made.addEventListener("click", deed);
    return made;
  };

  const refusal = (item) => {
    const line = document.createElement("p");
    line.dataset.refused = item.id;
    line.append(`Not written down: ${item.words}. ${item.refused} `);
    line.append(button("Send again", () => { delete item.refused; store(item); sendSoon(); }));
    line.append(button("Let it go", () => { forget(item.id).then(show); }));
    return line;
  };

  const show = () => {
    const place = document.getElementById("outbox");
    if (!place) return;
    const items = kept();
    const waiting = items.filter((item) => !item.refused);
    place.hidden = items.length === 0;
    place.dataset.waiting = String(waiting.length);
    place.replaceChildren();
    if (waiting.length > 0) {
      const line = document.createElement("p");
      line.append(`Kept on this device, ${waiting.length} to send. `, button("Send now", sendSoon));
      place.append(line);
    }
    items.filter((item) => item.refused).forEach((item) => place.append(refusal(item)));
  };

  // Keeps one item and begins to send. Throws if this device cannot keep it; then the form goes the plain way.
  let number = 0;
  const keep = async (item, photo) => {
    if (photo) {
      await photos("readwrite", (box) => box.put(photo, item.id));
      item.photo = true;
    }
    number += 1;
    store({ ...item, number });
    show();
    sendSoon();
  };

  window.boothwright = { keep, kept, newId };
  window.addEventListener("online", sendSoon);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) sendSoon(); });
  window.addEventListener("storage", show);
  show();
  sendSoon();
})();

// Records a test film from the page, uncompressed and untouched, and sends it as the file of the form.
(() => {
  "use strict";
  const form = document.getElementById("sound-form");
  const recorder = document.getElementById("recorder");
  if (!form || !recorder) return;

  const part = (name) => recorder.querySelector(`[data-recorder="${name}"]`);
  const SIXTY = 60;
  // A longer one is cut here: a film of ten minutes tells no more than one.
  const LONGEST = 600;
  // Samples at or beyond this stand at the limit, as the measuring has it.
  const FULL = 0.9995;
  const LOWEST_DB = -60;

  const why = () => {
    if (!window.isSecureContext) {
      return "Browsers give a microphone only to pages from this computer itself (http://127.0.0.1 or http://localhost) or over https. " +
        "Record with another program, with every enhancement off, and send the file.";
    }
    if (!navigator.mediaDevices || !navigator.mediaDevices.getUserMedia || !window.AudioWorkletNode) {
      return "This browser cannot record uncompressed sound. Record with another program and send the file.";
    }
    return "";
  };

  const show = (element, words) => { element.textContent = words; element.hidden = !words; };
  show(part("cannot"), why());
  part("ready").hidden = Boolean(why());

  const db = (size) => Math.max(LOWEST_DB, 20 * Math.log10(Math.max(size, 1e-9)));

  // 24 bits: finer than any converter, and half of what floats would take.
  const bytesOf = (samples) => {
    const bytes = new Uint8Array(samples.length * 3);
    samples.forEach((sample, n) => {
      const whole = Math.round(Math.max(-1, Math.min(1, sample)) * 8388607);
      bytes[3 * n] = whole & 255;
      bytes[3 * n + 1] = (whole >> 8) & 255;
      bytes[3 * n + 2] = (whole >> 16) & 255;
    });
    return bytes;
  };

  const header = (rate, size) => {
    const view = new DataView(new ArrayBuffer(44));
    const word = (at, text) => [...text].forEach((letter, n) => view.setUint8(at + n, letter.charCodeAt(0)));
    word(0, "RIFF"); view.setUint32(4, 36 + size, true); word(8, "WAVE");
    word(12, "fmt "); view.setUint32(16, 16, true);
    view.setUint16(20, 1, true); view.setUint16(22, 1, true);
    view.setUint32(24, rate, true); view.setUint32(28, rate * 3, true);
    view.setUint16(32, 3, true); view.setUint16(34, 24, true);
    word(36, "data"); view.setUint32(40, size, true);
    return view.buffer;
  };

  let running = null;
  let recorded = null;

  const start = async () => {
    part("start").disabled = true;
    show(part("clipped"), "");
    show(part("said"), "");
    try {
      const wanted = { echoCancellation: false, noiseSuppression: false, autoGainControl: false, channelCount: { ideal: 1 } };
      const stream = await navigator.mediaDevices.getUserMedia({ audio: wanted });
      running = await listen(stream);
      part("stop").hidden = false;
      part("start").hidden = true;
      part("stop").focus();
    } catch (error) {
      const words = error.name === "NotAllowedError" ? "The browser was told not to give this page the microphone; allow it beside the address."
        : error.name === "NotFoundError" ? "No microphone or line input is connected."
        : `The browser cannot record: ${error.message}`;
      show(part("said"), words);
    }
    part("start").disabled = false;
  };

  const listen = async (stream) => {
    const settings = stream.getAudioTracks()[0].getSettings();
    const meddles = ["echoCancellation", "noiseSuppression", "autoGainControl"].filter((name) => settings[name] === true);
    // At the rate of the device, so that nothing is resampled on the way.
    const context = new AudioContext(settings.sampleRate ? { sampleRate: settings.sampleRate } : {});
    await context.audioWorklet.addModule("/assets/sound-worklet.js");
    const source = context.createMediaStreamSource(stream);
    const taker = new AudioWorkletNode(context, "taker", { numberOfInputs: 1, numberOfOutputs: 1, channelCount: 1, channelCountMode: "explicit" });
    // A node that leads nowhere is not run by every browser; it leads into silence.
    const silence = new GainNode(context, { gain: 0 });
    source.connect(taker).connect(silence).connect(context.destination);
    await context.resume();
    const now = { stream, context, meddles, rate: context.sampleRate, pieces: [], frames: 0, clipped: 0, missed: 0, loudest: 0, held: LOWEST_DB };
    taker.port.onmessage = (event) => take(now, event.data);
    stream.getAudioTracks()[0].onended = () => { if (running === now) stop(); };
    return now;
  };

  const take = (now, { samples, missed }) => {
    if (running !== now) return;
    let loudest = 0;
    let run = 0;
    samples.forEach((sample) => {
      const size = Math.abs(sample);
      if (size > loudest) loudest = size;
      run = size >= FULL ? run + 1 : 0;
      if (run >= 3) now.clipped += 1;
    });
    now.pieces.push(bytesOf(samples));
    now.frames += samples.length;
    now.missed = missed;
    now.loudest = Math.max(now.loudest, loudest);
    now.held = Math.max(db(loudest), now.held - 1);
    const seconds = now.frames / now.rate;
    part("level").value = now.held;
    part("peak").textContent = now.held > LOWEST_DB ? `${now.held.toFixed(0)} dB` : "no sound";
    part("time").textContent = `${seconds.toFixed(0)} s`;
    if (now.clipped) show(part("clipped"), "Clipped: turn the input down and record again.");
    const sixty = document.getElementById("recorder-sixty").checked;
    if (seconds >= LONGEST || (sixty && seconds >= SIXTY)) stop();
  };

  const stop = () => {
    const now = running;
    if (!now) return;
    running = null;
    now.stream.getTracks().forEach((track) => track.stop());
    now.context.close();
    part("stop").hidden = true;
    part("start").hidden = false;
    part("start").textContent = "Record again";
    const size = now.frames * 3;
    recorded = new File([header(now.rate, size), ...now.pieces], "recording.wav", { type: "audio/wav" });
    said(now);
    document.getElementById("field-recording").required = false;
    form.querySelector("button.main").focus();
  };

  const said = (now) => {
    const words = [`Recorded ${(now.frames / now.rate).toFixed(1)} s at ${now.rate} Hz, peak ${db(now.loudest).toFixed(0)} dB.`];
    if (db(now.loudest) < -40) words.push("That is too quiet: turn the input up.");
    if (now.missed) words.push(`${now.missed} samples were lost because this computer was busy; record again.`);
    if (now.meddles.length) words.push(`This browser leaves ${now.meddles.join(" and ")} on; levels and flutter may be wrong.`);
    const save = document.createElement("a");
    save.href = URL.createObjectURL(recorded);
    save.download = "recording.wav";
    save.textContent = "Keep it on this device";
    part("said").replaceChildren(words.join(" "), " ", save);
    part("said").hidden = false;
    part("said").dataset.seconds = (now.frames / now.rate).toFixed(2);
  };

  part("start").addEventListener("click", start);
  part("stop").addEventListener("click", stop);
  // A file that is chosen after a recording is the one that is meant.
  document.getElementById("field-recording").addEventListener("change", () => { recorded = null; });

  // ---- sending ----

  const told = document.getElementById("sound-said");

  const send = (body) => new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open("POST", form.getAttribute("action"));
    request.setRequestHeader("Accept", "application/json");
    request.upload.onprogress = (event) => {
      if (!event.lengthComputable) return;
      const share = Math.round((100 * event.loaded) / event.total);
      show(told, share < 100 ? `Sent ${share} %` : "Measuring …");
    };
    request.onload = () => resolve({ status: request.status, text: request.responseText });
    request.onerror = () => reject(new Error("no answer"));
    request.send(body);
  });

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const button = form.querySelector("button.main");
    const body = new FormData(form);
    if (recorded) body.set("recording", recorded);
    const file = body.get("recording");
    if (!file || !file.size) { show(told, "Choose a recording, or record one here."); return; }
    if (file.size > Number(form.dataset.largest)) { show(told, "This recording is larger than the 1.2 GB that are taken; cut a piece out."); return; }
    button.disabled = true;
    show(told, "Sending …");
    try {
      const { status, text } = await send(body);
      const answer = JSON.parse(text);
      if (status === 201) { location.assign(answer.result); return; }
      show(told, `${answer.problem} ${answer.would_be_right}`);
    } catch {
      show(told, "The program does not answer. The recording is still on this page; send it again when the program runs.");
    }
    button.disabled = false;
  });

  // A recording that was not sent is not lost by a slip of the thumb.
  window.addEventListener("beforeunload", (event) => { if (running) event.preventDefault(); });
})();

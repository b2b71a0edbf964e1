// The show with script: counts by the clock, keeps taps on this device first, and says the same as the server.
//
// Nothing is counted by ticks: every figure is worked out anew from the marks and the present moment, so a tab that
// slept shows the truth the moment it wakes. `booth::show` reckons in the same way on the server.
"use strict";

(() => {
  const page = document.getElementById("show");
  if (!page || !window.boothwright) return;
  const { keep, kept, newId } = window.boothwright;
  const READY_SECONDS = 30;
  const NEAR_SECONDS = 10;
  // Between two tenths of the big figure; drawn as each turns, it is off by no more than its rounding.
  const TENTH_MS = 100;
  const ASK_MS = 2500;
  const ASK_LATER_MS = 15000;
  // After a tap the next one means another thing: a thumb that bounces must not say it.
  const BOUNCE_MS = 900;

  const id = (name) => document.getElementById(name);
  let state = JSON.parse(page.dataset.state);

  // ---- the clock ----

  // What to add to this device's clock to have the server's; better the shorter the way there and back was.
  let offset = state.now_ms - Date.now();
  let way = Infinity;
  const now = () => (window.boothwright.clock ? window.boothwright.clock() : Date.now() + offset);
  const setClock = (serverMs, sent, received) => {
    const there = received - sent;
    const measured = serverMs + there / 2 - received;
    // Two clocks drift apart: an old measure is believed a little less each time.
    way += 0.2;
    // A clock that was set anew is off by more than any way takes.
    if (there <= way || Math.abs(measured - offset) > there + 1000) {
      way = there;
      offset = measured;
    }
  };

  // ---- what the marks add up to ----

  const value = (item, name) => (item.fields.find(([key]) => key === name) || [])[1] || "";
  const own = () => kept().filter((item) => value(item, "showing") === state.showing);

  // What was tapped here and is not in the server's list yet: an item leaves the outbox a little before it stands there.
  const mine = new Map();

  // The server's marks and those of this device, without what was taken back here.
  const marks = () => {
    const all = new Map(state.marks.map((mark) => [mark.entry, mark]));
    const gone = new Set();
    const here = new Map([...mine, ...own().map((item) => [item.id, item])]);
    here.forEach((item) => {
      if (item.refused) { mine.delete(item.id); return; }
      if (value(item, "undo")) gone.add(value(item, "undo"));
      else all.set(item.id, { entry: item.id, at_ms: Number(value(item, "at_ms")), mark: value(item, "mark"), reel: Number(value(item, "reel")), machine: value(item, "machine") || null });
    });
    return [...all.values()].filter((mark) => !gone.has(mark.entry)).sort((one, other) => one.at_ms - other.at_ms);
  };

  const seconds = (from, to) => Math.max(0, to - from) / 1000;
  const planned = (reel) => state.plan.reels[reel - 1];

  const courseOf = (list) => {
    const course = { phase: "waiting", reel: 0, since_ms: 0, shown: 0, began_ms: null, over_ms: null, machine: null, stoppages: 0, last: null };
    const halt = (at) => { if (course.phase === "running") course.shown += seconds(course.since_ms, at); };
    const enter = (phase, at) => { course.phase = phase; course.since_ms = at; };
    const take = (mark) => {
      const at = mark.at_ms;
      const lit = ["running", "paused", "stopped"].includes(course.phase);
      switch (mark.mark) {
        case "started":
        case "changed-over":
          if (mark.reel <= course.reel || course.phase === "over") return false;
          course.began_ms ??= at;
          course.reel = mark.reel;
          course.shown = 0;
          course.machine = mark.machine || (planned(mark.reel) || {}).machine || null;
          enter("running", at);
          return true;
        case "reel-ended":
          if (mark.reel !== course.reel || !lit) return false;
          halt(at);
          enter("between", at);
          return true;
        case "paused":
        case "stopped":
          if (course.phase !== "running") return false;
          halt(at);
          if (mark.mark === "stopped") course.stoppages += 1;
          enter(mark.mark, at);
          return true;
        case "resumed":
          if (!["paused", "stopped"].includes(course.phase)) return false;
          course.machine = mark.machine || course.machine;
          enter("running", at);
          return true;
        case "ended":
          if (["waiting", "over"].includes(course.phase)) return false;
          halt(at);
          course.over_ms = at;
          enter("over", at);
          return true;
        default:
          return false;
      }
    };
    list.forEach((mark) => { if (take(mark)) course.last = mark; });
    return course;
  };

  const ahead = (reel, shown) => {
    if (reel.motor_seconds !== null && shown < reel.motor_seconds) return { cue: "motor", in_seconds: reel.motor_seconds - shown };
    if (reel.changeover_seconds !== null) return { cue: "changeover", in_seconds: reel.changeover_seconds - shown };
    return { cue: "end", in_seconds: reel.picture_seconds - shown };
  };

  const words = (course, reel, next) => {
    const coming = planned(course.reel + 1);
    switch (course.phase) {
      case "waiting": return coming ? coming.say.before : "";
      case "paused": return "Paused. Tap when picture and sound are on again.";
      case "stopped": return "Dark. House lights if it lasts. Tap when picture and sound are on again.";
      case "between": return coming ? `${reel ? reel.say.end : ""} ${coming.say.before}`.trim() : "That was the last reel. Tap the end.";
      case "over": return "The programme is over.";
      default:
        if (!reel) return "This reel is not in the programme.";
        if (next.cue === "motor") return next.in_seconds > READY_SECONDS ? reel.say.ready : reel.say.motor;
        if (next.cue === "changeover") return reel.say.changeover;
        return next.in_seconds > READY_SECONDS && reel.next !== "end" ? reel.say.ready : reel.say.end;
    }
  };

  const standing = (course, at) => {
    const reel = planned(course.reel);
    const plan = state.plan;
    const shown = course.shown + (course.phase === "running" ? seconds(course.since_ms, at) : 0);
    const reelLeft = reel ? reel.picture_seconds - shown : 0;
    let left = 0;
    if (course.phase === "waiting") left = plan.lasts_seconds;
    else if (reel && course.phase !== "over") {
      const after = plan.lasts_seconds - reel.starts_seconds - reel.picture_seconds;
      left = course.phase === "between" ? after - Math.min(seconds(course.since_ms, at), reel.pause_seconds) : Math.max(0, reelLeft) + after;
    }
    const from = course.phase === "waiting" ? Math.max(at, state.starts_ms) : at;
    const end = course.over_ms ?? from + Math.round(left * 1000);
    const next = course.phase === "running" && reel ? ahead(reel, shown) : null;
    return {
      phase: course.phase,
      reel: course.reel,
      shown_seconds: shown,
      reel_left_seconds: reelLeft,
      programme_left_seconds: left,
      ahead: next,
      dark_seconds: ["paused", "stopped", "between"].includes(course.phase) ? seconds(course.since_ms, at) : null,
      end_ms: end,
      drift_seconds: (end - (state.starts_ms + Math.round(plan.lasts_seconds * 1000))) / 1000,
      next: words(course, reel, next),
    };
  };

  // ---- showing it ----

  const clock = (time, decimals) => {
    const per = 10 ** decimals;
    const ticks = Math.round(Math.abs(time) * per);
    const sign = time < 0 && ticks > 0 ? "-" : "";
    const whole = Math.floor(ticks / per);
    const two = (part) => String(part).padStart(2, "0");
    const hours = Math.floor(whole / 3600);
    const tail = decimals ? `.${ticks % per}` : "";
    const minutes = Math.floor(whole / 60) % 60;
    return sign + (hours ? `${hours}:${two(minutes)}` : String(minutes)) + `:${two(whole % 60)}${tail}`;
  };
  const onTheWall = (ms) => new Date(ms + state.zone_offset_seconds * 1000).toISOString().slice(11, 19);
  const drift = (time) => {
    if (Math.abs(Math.round(time)) < 1) return "as planned";
    return `${clock(Math.abs(time), 0)} ${time > 0 ? "later" : "earlier"} than planned`;
  };
  const COUNTS = { waiting: "Runs in all", paused: "Paused for", stopped: "Dark for", between: "Between reels for", over: "Over" };
  const TO = { motor: "To the motor cue", changeover: "To the changeover", end: "To the end of the reel" };
  const SAID = { started: "picture on the screen", "changed-over": "changed over", "reel-ended": "reel ended", paused: "paused", stopped: "stopped", resumed: "on again", ended: "the end" };

  const put = (name, text) => { const place = id(name); if (place && place.textContent !== text) place.textContent = text; };

  const figure = (stand) => {
    if (stand.phase === "over") return "–";
    if (stand.phase === "waiting") return clock(stand.programme_left_seconds, 1);
    if (stand.phase === "running") return clock(stand.ahead ? stand.ahead.in_seconds : stand.reel_left_seconds, 1);
    return clock(stand.dark_seconds, 1);
  };

  const offered = (course) => {
    const here = course.reel;
    const reel = planned(here);
    const more = here < state.plan.reels.length;
    switch (course.phase) {
      case "waiting": return [["started", 1, "Picture on the screen"]];
      case "running": {
        const rest = [["stopped", here, "It stopped"], ["paused", here, "Pause"]];
        if (reel && reel.next === "changeover") return [["changed-over", here + 1, "Changed over"], ...rest, ["reel-ended", here, "Reel ended"]];
        if (reel && reel.next === "end") return [["ended", here, "The end"], ...rest];
        return [["reel-ended", here, "Reel ended"], ...rest];
      }
      case "paused":
      case "stopped": return [["resumed", here, "On again"], ["ended", here, "The end"]];
      case "between": return more ? [["started", here + 1, "Picture on the screen"], ["ended", here, "The end"]] : [["ended", here, "The end"]];
      default: return [];
    }
  };

  let drawn = "";
  let bouncing = 0;
  const drawTaps = (course) => {
    const taps = offered(course);
    const last = course.last;
    const key = JSON.stringify([taps, last && last.entry]);
    if (key === drawn) return;
    drawn = key;
    const place = id("show-taps");
    const held = document.activeElement && place.contains(document.activeElement);
    place.replaceChildren(...taps.map(([mark, reel, text], at) => tapForm(text, at === 0, { mark, reel: String(reel) })));
    if (last) place.append(tapForm(`Take back: ${SAID[last.mark]}`, false, { undo: last.entry }));
    place.querySelectorAll("button").forEach((button) => { button.disabled = true; });
    clearTimeout(bouncing);
    bouncing = setTimeout(() => {
      place.querySelectorAll("button").forEach((button) => { button.disabled = false; });
      if (held) { const first = place.querySelector("button"); if (first) first.focus({ preventScroll: true }); }
    }, BOUNCE_MS);
  };

  const tapForm = (text, isMain, said) => {
    const form = document.createElement("form");
    if (isMain) form.className = "broad";
    const button = document.createElement("button");
    button.type = "submit";
    button.textContent = text;
    if (isMain) button.className = "main";
    Object.entries(said).forEach(([name, word]) => { button.dataset[name] = word; });
    form.append(button);
    return form;
  };

  const drawMachines = (course) => {
    const on = ["running", "paused", "stopped"].includes(course.phase);
    const lines = state.plan.machines.map((machine) => {
      const next = course.phase === "over" ? null : state.plan.reels.find((reel) => reel.machine === machine.machine && reel.place > course.reel);
      const runs = on && course.machine === machine.machine;
      if (runs) return [machine.name, next ? `runs reel ${course.reel}, then reel ${next.place}` : `runs reel ${course.reel}`];
      return [machine.name, next ? `reel ${next.place} next` : "done"];
    });
    const key = JSON.stringify(lines);
    const place = id("show-machines");
    if (place.dataset.drawn === key) return;
    place.dataset.drawn = key;
    place.replaceChildren(...lines.map(([name, text]) => {
      const line = document.createElement("li");
      const strong = document.createElement("strong");
      strong.textContent = name;
      line.append(strong, ` ${text}`);
      return line;
    }));
  };

  // A short quiet word to the hand as a cue comes: twice before, once at it.
  let felt = "";
  const feel = (stand) => {
    const next = stand.ahead;
    const near = next && next.in_seconds <= NEAR_SECONDS && next.in_seconds > -NEAR_SECONDS;
    if (near) page.dataset.near = next.cue; else delete page.dataset.near;
    if (!next || document.hidden) return;
    const step = next.in_seconds <= 0 ? "at" : next.in_seconds <= NEAR_SECONDS ? "near" : "far";
    const key = `${stand.reel} ${next.cue} ${step}`;
    if (key === felt) return;
    const was = felt;
    felt = key;
    if (step === "far" || was === "" || !navigator.vibrate) return;
    navigator.vibrate(step === "near" ? [60, 90, 60] : 160);
  };

  const draw = () => {
    const at = now();
    const course = courseOf(marks());
    const stand = standing(course, at);
    page.dataset.phase = stand.phase;
    put("show-clock", onTheWall(at));
    put("show-end", onTheWall(stand.end_ms));
    put("show-drift", drift(stand.drift_seconds));
    put("show-what", stand.phase === "running" ? TO[stand.ahead ? stand.ahead.cue : "end"] : COUNTS[stand.phase]);
    put("show-count", figure(stand));
    put("show-next", stand.next);
    put("show-reel", clock(stand.reel_left_seconds, 0));
    put("show-programme", clock(stand.programme_left_seconds, 0));
    put("show-stoppages", String(course.stoppages));
    drawMachines(course);
    drawTaps(course);
    feel(stand);
    const wrong = new URL(id("show-wrong").href);
    if (course.machine && wrong.searchParams.get("machine") !== course.machine) {
      wrong.searchParams.set("machine", course.machine);
      id("show-wrong").href = wrong.pathname + wrong.search;
    }
    return stand;
  };

  // How long until the big figure turns: it rounds, so that it turns halfway between two tenths.
  const untilTurn = (stand) => {
    const falling = stand.phase === "running";
    const tenths = (falling ? (stand.ahead ? stand.ahead.in_seconds : stand.reel_left_seconds) : stand.dark_seconds ?? 0) * 10 + 0.5;
    const past = (tenths - Math.floor(tenths)) * TENTH_MS;
    return Math.ceil(falling ? past : TENTH_MS - past) + 1;
  };
  const tick = () => { setTimeout(tick, untilTurn(draw())); };

  // ---- taps ----

  id("show-taps").addEventListener("submit", (event) => {
    event.preventDefault();
    const said = event.submitter.dataset;
    const at = Math.round(now());
    const entry = newId();
    const fields = [["id", entry], ["by", page.dataset.by], ["showing", state.showing], ["at_ms", String(at)]];
    if (said.undo) fields.push(["undo", said.undo]);
    else {
      fields.push(["mark", said.mark], ["reel", said.reel]);
      const reel = planned(Number(said.reel));
      if (reel) fields.push(["machine", reel.machine]);
    }
    const address = page.dataset.address + (said.undo ? "/undo" : "");
    const words = `${state.title}, ${event.submitter.textContent}`;
    const item = { id: entry, address, fields, words, made: Date.now() };
    mine.set(entry, item);
    keep(item).then(draw).catch(() => { mine.delete(entry); sendPlainly(address, fields); });
    stayAwake();
  });

  // This device cannot keep anything: send it the plain way.
  const sendPlainly = (address, fields) => {
    const form = document.createElement("form");
    form.method = "post";
    form.action = address;
    fields.forEach(([name, text]) => {
      const field = document.createElement("input");
      field.type = "hidden";
      field.name = name;
      field.value = text;
      form.append(field);
    });
    document.body.append(form);
    form.submit();
  };

  // ---- the server, when it is there ----

  let asking = 0;
  let asked = 0;
  let heard = 0;
  const ask = async () => {
    clearTimeout(asking);
    const number = (asked += 1);
    let wait = ASK_MS;
    try {
      const sent = Date.now();
      // What the server had before it was asked, its answer knows.
      const known = [...mine.values()].filter((item) => item.sent).map((item) => item.id);
      const answer = await fetch(`${page.dataset.address}/state`, { headers: { Accept: "application/json" }, credentials: "same-origin", signal: AbortSignal.timeout ? AbortSignal.timeout(8000) : undefined });
      const received = Date.now();
      const said = answer.ok ? await answer.json() : null;
      // An answer that was overtaken by a later one says nothing new.
      if (said && said.showing === state.showing && number > heard) {
        heard = number;
        setClock(said.now_ms, sent, received);
        state = said;
        known.forEach((entry) => mine.delete(entry));
        draw();
      }
    } catch {
      wait = ASK_LATER_MS;
    }
    clearTimeout(asking);
    asking = setTimeout(ask, wait);
  };

  document.addEventListener("boothwright:sent", (event) => {
    if (value(event.detail, "showing") !== state.showing) return;
    const item = mine.get(event.detail.id);
    if (item) item.sent = true;
    ask();
  });

  // ---- a screen that stays on ----

  let lock = null;
  const stayAwake = async () => {
    const place = id("show-awake");
    if (!("wakeLock" in navigator)) {
      place.textContent = "This device may let the screen go dark: set it to stay on.";
      place.hidden = false;
      return;
    }
    if (lock || document.hidden) return;
    try {
      lock = await navigator.wakeLock.request("screen");
      lock.addEventListener("release", () => { lock = null; });
      place.hidden = true;
    } catch {
      place.textContent = "The screen may go dark by itself: set this device to stay on.";
      place.hidden = false;
    }
  };

  document.addEventListener("visibilitychange", () => {
    if (document.hidden) return;
    draw();
    ask();
    stayAwake();
  });

  window.boothwright.show = { standing: () => standing(courseOf(marks()), now()), draw, now, answers: () => heard };
  tick();
  stayAwake();
  ask();
})();

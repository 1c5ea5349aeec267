// Counts by touch, keeps every entry on the phone until the computer has answered, and turns what a
// phone records into what the computer can hear. All of it is an addition: each form works without.
"use strict";

// --- what the phone remembers ----------------------------------------------------------------

const WAITING = "bubblerate.waiting"; // entries that the computer has not answered yet
const COUNTING = "bubblerate.counting:"; // a count under way, by the address it will be sent to

function load(name, otherwise) {
  try {
    return JSON.parse(localStorage.getItem(name)) ?? otherwise;
  } catch {
    return otherwise;
  }
}

function keep(name, value) {
  if (value === null) localStorage.removeItem(name);
  else localStorage.setItem(name, JSON.stringify(value));
}

function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

function part(root, name) {
  return root.querySelector(`[data-show="${name}"]`);
}

// --- entries on their way --------------------------------------------------------------------

const RETRY_MS = 4000;
const PATIENCE_MS = 10000; // a network that is gone may say nothing for minutes
const here = () => location.pathname + location.search;
let sending = false;
let more = false; // whether an entry came while others were being sent
let pressed = false; // whether what is said next answers somebody, who may look elsewhere on the page

function waiting() {
  return load(WAITING, []);
}

function put(entry) {
  keep(WAITING, [...waiting().filter((one) => one.key !== entry.key), entry]);
}

// What became of an entry, if it was not thrown away meanwhile.
function note(entry, what) {
  keep(WAITING, waiting().map((one) => (one.key === entry.key ? { ...one, refused: undefined, why: undefined, ...what } : one)));
}

function done(key) {
  keep(WAITING, waiting().filter((one) => one.key !== key));
}

// An entry of a form, as it stands; the key stays the same however often it is sent.
function entryOf(form, fields) {
  const said = { ...Object.fromEntries(new FormData(form)), ...fields };
  const what = said.count || said.gravity || said.event || said.jar || said.into || said.other || said.from || said.style || "";
  return { key: said.key, jar: form.dataset.kept, what, path: form.getAttribute("action"), said, made: Date.now(), from: here() };
}

async function sent(entry) {
  const ago = String(Math.max(0, Math.round((Date.now() - entry.made) / 1000)));
  const patience = new AbortController();
  const timer = setTimeout(() => patience.abort(), PATIENCE_MS);
  try {
    const answer = await fetch(entry.path, {
      method: "POST",
      headers: { Accept: "application/json" },
      body: new URLSearchParams({ ...entry.said, ago }),
      signal: patience.signal,
    });
    return { status: answer.status, told: await answer.json() };
  } finally {
    clearTimeout(timer);
  }
}

async function sendAll() {
  more = sending;
  if (sending) return;
  sending = true;
  try {
    do {
      more = false;
      for (const entry of waiting().filter((one) => !one.refused)) await send(entry);
    } while (more);
  } finally {
    sending = false;
    show();
  }
}

async function send(entry) {
  let status, told;
  try {
    ({ status, told } = await sent(entry));
  } catch {
    note(entry, { why: "The computer does not answer." });
    return;
  }
  if (status === 200) {
    done(entry.key);
    if (entry.from === here()) location.assign(told.see);
    else news.push(...told.said);
  } else if (status === 400 || status === 404) {
    note(entry, { refused: told.error });
    if (entry.from === here()) fillIn(entry);
  } else {
    note(entry, { why: told.error });
  }
}

// A refused entry goes back into its form, to be put right there.
function fillIn(entry) {
  const form = document.querySelector(`form[data-kept][action="${CSS.escape(entry.path)}"]`);
  if (!form) return;
  for (const [name, value] of Object.entries(entry.said)) {
    const field = form.elements.namedItem(name);
    if (field && "value" in field && field.type !== "submit") field.value = value;
  }
}

const news = [];

function line(text) {
  const p = document.createElement("p");
  p.textContent = text;
  return p;
}

function button(text, press) {
  const made = document.createElement("button");
  made.type = "button";
  made.textContent = text;
  made.addEventListener("click", press);
  return made;
}

function show() {
  const box = document.getElementById("kept");
  if (!box) return;
  const parts = news.map((text) => line(text));
  for (const entry of waiting()) {
    const said = `${entry.jar}: ${entry.what}`;
    if (entry.refused) {
      parts.push(line(`Not written: ${entry.refused}`), line(`${said} is kept on this phone.`));
    } else if (entry.why) {
      parts.push(line(`${said} is kept on this phone and not written yet. ${entry.why} It is sent again by itself.`));
    } else continue;
    parts.push(button("Send it again", () => { note(entry, {}); sendAll(); }));
    parts.push(button("Throw it away", () => { if (confirm(`Throw away ${said}?`)) { done(entry.key); show(); } }));
  }
  for (const name of Object.keys(localStorage).filter((one) => one.startsWith(COUNTING))) {
    const count = load(name, null);
    if (!count || document.querySelector(`form[action="${CSS.escape(name.slice(COUNTING.length))}"]`)) continue;
    const p = line(`A count of ${count.jar} is under way: `);
    const a = document.createElement("a");
    a.href = count.from;
    a.textContent = "go on with it";
    p.append(a);
    parts.push(p);
  }
  box.replaceChildren(...parts);
  if (pressed && parts.length) box.focus();
  pressed = false;
}

function keepForms() {
  for (const form of document.querySelectorAll("form[data-kept]")) {
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      const by = event.submitter;
      const entry = entryOf(form, by && by.name ? { [by.name]: by.value } : {});
      const mended = waiting().find((one) => one.refused && one.path === entry.path && one.from === here());
      if (mended) done(mended.key);
      put(entry);
      pressed = true;
      sendAll();
    });
  }
}

// --- tap to count ----------------------------------------------------------------------------

// The clock starts at "go" and runs on while the screen sleeps or the page is loaded again: bubbles
// over the whole time is the rate, and what is kept on the phone is all there is to know of it.
const IDLE_MIN = 15;

function tapping(panel) {
  const form = panel.closest("form");
  const name = COUNTING + form.getAttribute("action");
  const presses = Object.fromEntries([...panel.querySelectorAll("[data-do]")].map((one) => [one.dataset.do, one]));
  const enough = { bubbles: Number(panel.dataset.bubbles), seconds: Number(panel.dataset.seconds) };
  let count = load(name, null);

  const seconds = () => Math.max(0, (Date.now() - count.began) / 1000);

  function draw() {
    for (const one of ["undo", "stop", "drop"]) presses[one].disabled = !count;
    if (!count) {
      presses.tap.textContent = "Go";
      part(panel, "rate").textContent = "Press Go, then press once for each bubble.";
      return;
    }
    const s = seconds();
    presses.undo.disabled = count.bubbles === 0;
    presses.tap.textContent = count.bubbles ? String(count.bubbles) : "Tap each bubble";
    const clock = `${Math.floor(s / 60)}:${String(Math.floor(s % 60)).padStart(2, "0")}`;
    const speed = s >= 1 ? rate((60 * count.bubbles) / s) : "";
    part(panel, "rate").textContent = [`${count.bubbles} in ${clock}`, speed].filter(Boolean).join(", ");
    const idle = (Date.now() - count.last) / 60000;
    let told = count.bubbles >= enough.bubbles || s >= enough.seconds ? "Enough: press Stop." : "";
    if (idle > IDLE_MIN) told = `Nothing was tapped for ${idle.toFixed(0)} minutes. If you were away, drop it.`;
    if (part(panel, "news").textContent !== told) part(panel, "news").textContent = told;
  }

  function set(next) {
    count = next;
    keep(name, count);
    draw();
  }

  function tap() {
    if (count) set({ ...count, bubbles: count.bubbles + 1, last: Date.now() });
    else {
      set({ key: newKey(), jar: form.dataset.kept, from: here(), began: Date.now(), last: Date.now(), bubbles: 0 });
      panel.scrollIntoView(); // so that all of it is at hand
    }
  }

  function stop() {
    const s = Math.round(seconds() * 10) / 10;
    if (s < 1) {
      set(null);
      part(panel, "news").textContent = "The count ended within a second; nothing is written.";
      return;
    }
    // handed over in this order: for a moment it is kept twice under one key, never not at all
    put(entryOf(form, { key: count.key, count: `${count.bubbles} in ${s}s` }));
    set(null);
    pressed = true;
    sendAll();
  }

  // a finger counts as it comes down: one that slips counts too; keys and readers only click
  presses.tap.addEventListener("pointerdown", (event) => { if (event.button === 0) tap(); });
  presses.tap.addEventListener("click", (event) => { if (event.detail === 0) tap(); });
  presses.undo.addEventListener("click", () => set({ ...count, bubbles: count.bubbles - 1 }));
  presses.stop.addEventListener("click", stop);
  presses.drop.addEventListener("click", () => { if (confirm("Drop this count?")) set(null); });
  panel.hidden = false;
  draw();
  setInterval(() => { if (count) draw(); }, 500);
}

function rate(perMin) {
  if (perMin === 0) return "0 a minute";
  if (perMin < 0.1) return `one in ${(1 / perMin).toFixed(0)} min`;
  return `${perMin.toFixed(perMin >= 10 ? 0 : perMin >= 1 ? 1 : 2)} a minute`;
}

// --- sound -----------------------------------------------------------------------------------

const HEARD_HZ = [16000, 44100]; // bubbles ring below 3 kHz; older browsers decode to the second only

async function decoded(file) {
  for (const hz of HEARD_HZ) {
    try {
      return await new OfflineAudioContext(1, 1, hz).decodeAudioData(await file.arrayBuffer());
    } catch {
      continue;
    }
  }
  return null;
}

// Whatever this browser can play, as one channel of a WAV file of 16 bits (the usual head of 44 bytes).
function asWav(sound, name) {
  const channels = Array.from({ length: sound.numberOfChannels }, (_, i) => sound.getChannelData(i));
  const bytes = new DataView(new ArrayBuffer(44 + 2 * sound.length));
  const text = (at, word) => [...word].forEach((letter, i) => bytes.setUint8(at + i, letter.charCodeAt(0)));
  text(0, "RIFF");
  bytes.setUint32(4, 36 + 2 * sound.length, true);
  text(8, "WAVEfmt ");
  bytes.setUint32(16, 16, true);
  bytes.setUint16(20, 1, true);
  bytes.setUint16(22, 1, true);
  bytes.setUint32(24, sound.sampleRate, true);
  bytes.setUint32(28, 2 * sound.sampleRate, true);
  bytes.setUint16(32, 2, true);
  bytes.setUint16(34, 16, true);
  text(36, "data");
  bytes.setUint32(40, 2 * sound.length, true);
  for (let i = 0; i < sound.length; i++) {
    let sum = 0;
    for (const channel of channels) sum += channel[i];
    const level = Math.max(-1, Math.min(1, sum / channels.length));
    bytes.setInt16(44 + 2 * i, Math.round(32767 * level), true);
  }
  return new File([bytes.buffer], `${name.replace(/\.[^.]*$/, "")}.wav`, { type: "audio/wav" });
}

function listening(form) {
  const input = form.elements.namedItem("sound");
  form.addEventListener("submit", async (event) => {
    if (!input.files.length) return;
    event.preventDefault();
    part(form, "news").textContent = "Reading the sound ...";
    const sound = await decoded(input.files[0]);
    if (sound) {
      const chosen = new DataTransfer();
      chosen.items.add(asWav(sound, input.files[0].name));
      input.files = chosen.files;
    }
    part(form, "news").textContent = sound ? "Counting ..." : "This phone cannot read that sound; the computer tries.";
    form.submit(); // which asks no listener again
  });
}

document.querySelectorAll("[data-tap]").forEach(tapping);
document.querySelectorAll("form[data-sound]").forEach(listening);
keepForms();
show();
sendAll();
addEventListener("online", sendAll);
document.addEventListener("visibilitychange", () => { if (!document.hidden) sendAll(); });
setInterval(() => { if (!document.hidden && waiting().some((one) => !one.refused)) sendAll(); }, RETRY_MS);

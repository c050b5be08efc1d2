// The channel between the view in this frame and the page that holds it.
//
// The page that holds the frame sends one `hello` with a MessagePort; everything after that goes over the port, so
// origins are checked once and no other window can join in. Until then, and about anything that the hello did not
// ask for, the view says nothing to anybody.
//
// A message is { ns, v, type, body }. The program is asked and heard through events of this document.
//
// To the view                                              From the view
//   hello            wants: [words of WANTED below]          ready          { shown }
//   set-view         { view: "v1.…" }                        height         { height } px          wants: height
//   load-set         { set: "s1.…" or the set's JSON }       view           { view: "v1.…" }       wants: view
//   set-theme        { theme: auto, light or dark }          progress       { progress, percent }  wants: progress
//   set-locale       { lang: "es" }                          item-answered  { id, kind, answer, correct, outcome, score,
//   request-results  {}                                                       points, latencyMs }  wants: answers
//   pause            { paused }                              results        { finished, name, result } wants: results
//                                                            completed      {}, or { percent, passed } where progress or
//                                                                           results are wanted
//                                                            error          { reason }
// `progress` and `score` are shares from 0 to 1, `percent` is the share of the marks; `result` is the learner's result
// file. `unsupported` answers a hello of another version.

const NS = "planeward";
const VERSION = 1;
const LONGEST_TEXT = 70_000;

// What goes out only when the hello names it.
const WANTED = {
  height: "height",
  view: "view",
  progress: "progress",
  answers: "item-answered",
  results: "results",
};
const ALWAYS = ["ready", "completed", "error"];

const wish = (key) => {
  const text = location.hash.replace(/^#/, "").replace(/^v1\./, "");
  const part = text.split("&").find((part) => part.startsWith(`${key}=`));
  try {
    return part === undefined ? null : decodeURIComponent(part.slice(key.length + 1));
  } catch {
    return "";
  }
};

let port = null;
let allowed = new Set(ALWAYS);
let ready = { shown: false };
let height = 0;
let ignored = 0;

const ignore = () => {
  ignored += 1;
  document.documentElement.dataset.ignored = String(ignored);
};

const tell = (type, body) => {
  if (port && allowed.has(type)) port.postMessage({ ns: NS, v: VERSION, type, body });
};

const isText = (value) => typeof value === "string" && value.length <= LONGEST_TEXT;

// What may be asked over the port: each entry checks a body and gives the text that the program gets.
const ASKED = {
  "set-view": (body) => (isText(body?.view) ? body.view : null),
  "load-set": (body) => (isText(body?.set) ? body.set : null),
  "set-theme": (body) => (["auto", "light", "dark"].includes(body?.theme) ? body.theme : null),
  "set-locale": (body) => (isText(body?.lang) && /^[A-Za-z]{2,8}(-[A-Za-z0-9]{1,8})*$/.test(body.lang) ? body.lang : null),
  "request-results": () => "",
  pause: (body) => (typeof body?.paused === "boolean" ? String(body.paused) : null),
};

// What is asked before the program listens waits for it.
const MOST_WAITING = 32;
let listening = false;
const early = [];
const hand = (type, text) => document.dispatchEvent(new CustomEvent("planeward:ask", { detail: { type, text } }));
const ask = (type, text) => {
  if (listening) hand(type, text);
  else if (early.length < MOST_WAITING) early.push([type, text]);
};
document.addEventListener("planeward:listening", () => {
  listening = true;
  for (const [type, text] of early.splice(0)) hand(type, text);
});

const hear = (event) => {
  const message = event.data;
  if (message === null || typeof message !== "object" || message.ns !== NS || message.v !== VERSION) return ignore();
  const check = Object.hasOwn(ASKED, message.type) ? ASKED[message.type] : null;
  if (!check) return ignore();
  const text = check(message.body);
  if (text === null) return tell("error", { reason: `the message "${message.type}" has no usable body` });
  if (message.type === "request-results" && !allowed.has("results")) {
    return tell("error", { reason: "results are told only where the hello wants them" });
  }
  ask(message.type, text);
};

const welcome = (event) => {
  const message = event.data;
  // Other messages of the page around us are not ours to count.
  if (message === null || typeof message !== "object" || message.ns !== NS) return;
  const host = wish("host");
  const nonce = wish("nonce");
  const known =
    window.parent !== window &&
    event.source === window.parent &&
    message.type === "hello" &&
    Number.isInteger(message.v) &&
    (host === null || event.origin === host) &&
    (nonce === null || message.nonce === nonce);
  if (!known) return ignore();
  if (message.v !== VERSION) {
    // A page in a sandbox has no origin that could be named.
    const target = event.origin === "null" ? "*" : event.origin;
    event.source.postMessage({ ns: NS, v: VERSION, type: "unsupported", body: { supported: [VERSION] } }, target);
    return;
  }
  const [given] = event.ports;
  if (!given) return ignore();
  port?.close();
  port = given;
  const wants = Array.isArray(message.wants) ? message.wants : [];
  allowed = new Set(ALWAYS.concat(wants.filter((want) => Object.hasOwn(WANTED, want)).map((want) => WANTED[want])));
  port.onmessage = hear;
  tell("ready", ready);
  if (height > 0) tell("height", { height });
};
addEventListener("message", welcome);

document.addEventListener("planeward:report", (event) => {
  const { type, body } = event.detail;
  if (type === "ready") ready = body;
  tell(type, body);
});

// The round of a set, in the words in which its page tells a course system (course/driver.js).
const share = (value) => Math.min(1, Math.max(0, Number(value) || 0));
const ROUND = {
  started: ({ progress, percent }) => tell("progress", { progress: share(progress), percent: Number(percent) || 0 }),
  answered({ item, progress, percent }) {
    const { id, kind, answer, correct, outcome, score, points, latencyMs } = item;
    tell("item-answered", { id, kind, answer, correct, outcome, score, points, latencyMs });
    tell("progress", { progress: share(progress), percent });
  },
  finished({ percent, passed }) {
    // Whoever only wants to know that it is over learns nothing about the learner.
    const wanted = allowed.has("progress") || allowed.has("results");
    tell("completed", wanted ? { percent, passed } : {});
    if (allowed.has("results")) ask("request-results", "");
  },
};
document.addEventListener("planewardResults", (event) => {
  const { type } = event.detail;
  if (Object.hasOwn(ROUND, type)) ROUND[type](event.detail);
});

// The height of the content, not of the frame: the host may then give the frame this height.
const content = document.getElementById("planeward");
new ResizeObserver(() => {
  const now = Math.ceil(content.getBoundingClientRect().height);
  if (now === height || now === 0) return;
  height = now;
  tell("height", { height });
}).observe(content);

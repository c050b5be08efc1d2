// The link between the page and a course system.
//
// Page and driver speak through DOM events on `document`, so that neither needs the other: without a course system the
// page works on, and a page that never fires an event loses nothing.
//
// Page to driver: new CustomEvent("planewardResults", { detail }), with detail one of
//
//   { type: "started", passPercent: 80 or null, reportFailed: false }
//   { type: "answered", item, percent, progress, state }
//       item      { id, kind, answer, correct, options: [keys] or [], outcome, score, points, latencyMs, words }
//                 outcome is right, partly, wrong or unanswered; score 0 to 1; answer, correct and options are keys
//       percent   share of the marks of the whole set so far, 0 to 100; progress: share of the questions, 0 to 1
//       state     the unfinished round as ASCII text (course::results::resume), at most `stateBytes` long
//   { type: "state", state }                   something else to be kept changed
//   { type: "finished", percent, passed: true, false or null, state }
//   { type: "leave" }                          the learner is done with the page
//
// Driver to page: new CustomEvent("planewardCourse", { detail }), with detail one of
//
//   { type: "connected", info }                info as below
//   { type: "none", why }                      there is no course system; results stay with the learner. why: "used" where
//                                              a launch was used before, "absent" else
//   { type: "late-state", state }              the system was slow: merge this into the round and fire "state"
//   { type: "saved" }                          the system took what it was given last
//   { type: "trouble", what }                  it did not take "state", "score", "status" or "commit"
//   { type: "ended" }                          the session is over; reload to begin another
//
// window.planewardCourse
//   v              1
//   info()         { standard: "scorm12" | "scorm2004" | "cmi5" | null, mode: "normal" | "browse" | "review",
//                    masteryPercent, stateBytes, missing: why, as above, or null }
//   resume()       a promise of the kept state, "" where there is none; about two seconds, and of a silent system at most
//                  eight: what it hands out afterwards is a late state
//   set            address of the set: the file in the package
//
// Rules kept here: what the system keeps is not written over before it was read twice, since some hand it out late; after
// each answer is a commit; at the end of the page the session is finished; no refusal by the system ever stops the page.
(() => {
  "use strict";
  const parts = window.planewardParts;
  const SECOND_READ_MS = 1000;
  // Nobody looks at a page that opens for longer; a record store may be silent for ever.
  const PATIENCE_MS = 8000;
  const began = Date.now();
  // The driver's own line in what is kept: how many interactions were written. A longer number is nobody's count.
  const OWN = /^d1;(\d{1,4})$/;
  // The unfinished round outlives a reload of this very page, where the browser lets it: for those whom no course system
  // answers, then or before. Whoever opens the page anew gets another name, and nobody else's answers.
  const HERE = `planeward-round ${(() => {
    const known = history.state?.planewardRound;
    if (known) return known;
    const name = `${Date.now().toString(36)}-${Math.random().toString(36).slice(2)}`;
    try {
      history.replaceState({ ...history.state, planewardRound: name }, "");
    } catch {
      // A frame that may not; then a reload begins anew.
    }
    return name;
  })()}`;

  let link = null;
  let readable = false;
  let ended = false;
  let finished = false;
  let seen = "";
  let wanted = null;
  let missing = null;
  let options = { reportFailed: false };
  let given = false;
  let settle = () => {};
  const resumed = new Promise((resolve) => {
    settle = (kept) => {
      given = true;
      resolve(kept);
    };
  });

  const tell = (detail) => document.dispatchEvent(new CustomEvent("planewardCourse", { detail }));

  // Nothing of a course system may reach the page as an exception.
  const safely = (what, action) => {
    try {
      const good = action();
      if (good === false) tell({ type: "trouble", what });
      return good;
    } catch {
      tell({ type: "trouble", what });
      return false;
    }
  };

  const info = () => ({
    standard: link?.standard ?? null,
    mode: link?.mode ?? "normal",
    masteryPercent: link?.masteryPercent ?? null,
    stateBytes: link?.stateBytes ?? 64_000,
    missing,
  });

  function split(kept) {
    const lines = String(kept ?? "").split("\n");
    for (const line of lines) {
      const own = OWN.exec(line.trim());
      if (own && link.count) link.count(Number(own[1]));
    }
    return lines.filter((line) => line.trim() && !OWN.test(line.trim())).join("\n");
  }

  function write() {
    if (!readable || wanted === null || !link) return;
    const own = link.counted ? link.counted() : 0;
    const whole = own ? `${wanted}\nd1;${own}` : wanted;
    if (!/^[\n\x20-\x7e]*$/.test(whole) || whole.length > link.stateBytes) {
      tell({ type: "trouble", what: "state" });
      return;
    }
    safely("state", () => link.write(whole));
    seen = wanted;
  }

  function commit() {
    if (safely("commit", () => link.commit()) === true) tell({ type: "saved" });
  }

  // The second read. What came late joins what the page has made meanwhile.
  function second() {
    if (readable || !link || ended) return;
    let late = "";
    try {
      late = split(link.read());
    } catch {
      late = "";
    }
    readable = true;
    settle(late || seen);
    if (late && late !== seen) {
      seen = late;
      if (wanted !== null && wanted !== late) wanted = `${late}\n${wanted}`;
      tell({ type: "late-state", state: late });
    }
    if (wanted !== null) {
      write();
      commit();
    }
  }

  const handle = {
    started(detail) {
      options = { reportFailed: detail.reportFailed === true };
    },
    answered(detail) {
      const given = detail.item ?? {};
      const item = {
        id: String(given.id ?? "item"),
        answer: String(given.answer ?? ""),
        correct: String(given.correct ?? ""),
        options: Array.isArray(given.options) ? given.options.map(String) : [],
        outcome: String(given.outcome ?? "unanswered"),
        score: Number(given.score) || 0,
        points: Number(given.points) || 1,
        latencyMs: Number(given.latencyMs) || 0,
        words: String(given.words ?? ""),
      };
      // An interaction that is refused never stops the score.
      try {
        link.answered(item, new Date());
      } catch {
        // The result file has it.
      }
      safely("score", () => link.score(Number(detail.percent) || 0, Number(detail.progress) || 0));
      if (typeof detail.state === "string") wanted = detail.state;
      write();
      commit();
    },
    state(detail) {
      if (typeof detail.state !== "string") return;
      wanted = detail.state;
      write();
      commit();
    },
    finished(detail) {
      finished = true;
      safely("score", () => link.score(Number(detail.percent) || 0, 1));
      safely("status", () => link.finished(detail.passed ?? null, options.reportFailed));
      if (typeof detail.state === "string") wanted = detail.state;
      write();
      commit();
    },
    leave() {
      end();
      try {
        if (link.leave) link.leave();
      } catch {
        // The way back is no address; the learner stays where they are.
      }
    },
  };

  function end() {
    if (!link || ended) return;
    second();
    ended = true;
    safely("commit", () => link.end(Date.now() - began, !finished));
    tell({ type: "ended" });
  }

  document.addEventListener("planewardResults", (event) => {
    const detail = event.detail;
    const act = detail && Object.hasOwn(handle, detail.type) ? handle[detail.type] : null;
    if (!act) return;
    if (typeof detail.state === "string") keepHere(detail.state);
    if (link && !ended) act(detail);
    else waiting.push(detail);
  });
  // Fired before the system answered.
  const waiting = [];

  function connected(found) {
    link = found;
    let early = "";
    try {
      early = split(link.read());
    } catch {
      early = "";
    }
    // To a page that did not wait any longer, all of it is late.
    if (!given) seen = early;
    tell({ type: "connected", info: info() });
    if (seen) settle(seen);
    setTimeout(second, SECOND_READ_MS);
    for (const detail of waiting.splice(0)) handle[detail.type](detail);
  }

  function look() {
    // The newer standard first; a system that offers it without its methods falls back to the older one.
    for (const connect of [parts.scorm2004, parts.scorm12]) {
      let found = null;
      try {
        found = connect ? connect() : null;
      } catch {
        found = null;
      }
      if (found) return found;
    }
    return null;
  }

  addEventListener("pagehide", end);
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "hidden" && link && !ended) {
      write();
      commit();
    }
  });
  // A page that comes back from the browser's memory has an ended session.
  addEventListener("pageshow", (event) => {
    if (event.persisted && ended) tell({ type: "ended" });
  });

  window.planewardCourse = { v: 1, info, resume: () => resumed, set: document.body?.dataset.set ?? null };

  function keepHere(state) {
    try {
      sessionStorage.setItem(HERE, state);
    } catch {
      // Nothing is kept in this frame.
    }
  }

  function alone(why) {
    missing = why;
    let kept = "";
    try {
      kept = sessionStorage.getItem(HERE) ?? "";
    } catch {
      kept = "";
    }
    settle(kept);
    tell({ type: "none", why });
  }

  async function begin() {
    if (parts.cmi5) {
      setTimeout(() => settle(""), PATIENCE_MS);
      const found = await parts.cmi5();
      if (found) return connected(found);
    }
    for (const wait of [0, 300, 1000]) {
      if (wait) await new Promise((resolve) => setTimeout(resolve, wait));
      const found = look();
      if (found) return connected(found);
    }
    alone("absent");
    return undefined;
  }
  begin().catch((fault) => alone(fault?.message === "used" ? "used" : "absent"));
})();

// SCORM 2004, 4th Edition (IEEE 1484.11.1 and .2): the part of it that validators, and the systems whose sources were read,
// agree on. The learner's name and number are not read.
(() => {
  "use strict";
  const { find, speak, decimal, text, name, whole, duration, stamp } = window.planewardParts;
  const STATE = 64_000;
  // Marks with a meaning inside responses: [,] [.] [:] and {…}.
  const MARKS = /[[\]{},]/g;

  function connect() {
    const api = find("API_1484_11");
    if (!api) return null;
    const { call, get, set } = speak(api, "");
    // 103: the system has begun by itself.
    if (call("Initialize", "") !== "true" && call("GetLastError") !== "103") return null;

    const mode = get("cmi.mode") || "normal";
    const graded = mode === "normal" && get("cmi.credit") !== "no-credit";
    const before = get("cmi.success_status");
    const complete = get("cmi.completion_status") === "completed";
    const best = 100 * Number.parseFloat(get("cmi.score.scaled"));
    let own = 0;
    if (graded && !complete) set("cmi.completion_status", "incomplete");

    function interaction(item, at) {
      const count = whole(get("cmi.interactions._count"));
      const places = [...new Set([Math.max(own, count), count, 0])];
      // An index whose name is taken refuses another one, so a journal is never written over. Every answer has a name of
      // its own: of a name that comes again, some systems keep the last only.
      const n = places.find((place) => set(`cmi.interactions.${place}.id`, `${name(item.id)}_${place}`));
      if (n === undefined) return false;
      own = n + 1;
      const put = (field, value) => value !== "" && set(`cmi.interactions.${n}.${field}`, value);
      const keys = item.options.map(name);
      const choice = keys.length > 1 && keys.length <= 36 && item.options.includes(item.correct);
      const answer = item.options.includes(item.answer) ? name(item.answer) : "";
      put("type", choice ? "choice" : "fill-in");
      put("timestamp", stamp(at));
      put("weighting", decimal(item.points));
      put("correct_responses.0.pattern", choice ? name(item.correct) : text(item.correct, 250, MARKS));
      put("learner_response", choice ? answer : text(item.answer, 250, MARKS));
      put("result", item.outcome === "right" ? "correct" : item.outcome === "wrong" ? "incorrect" : item.outcome === "partly" ? decimal(item.score) : "neutral");
      put("latency", duration(item.latencyMs));
      put("description", text(item.words, 250, /[{}]/g));
      return true;
    }

    return {
      standard: "scorm2004",
      mode: graded ? "normal" : mode === "normal" ? "review" : mode,
      masteryPercent: 100 * Number.parseFloat(get("cmi.scaled_passing_score")) || null,
      stateBytes: STATE,
      launchData: get("cmi.launch_data"),
      read: () => get("cmi.suspend_data"),
      write: (state) => set("cmi.suspend_data", state),
      counted: () => own,
      count: (known) => {
        own = Math.max(own, known);
      },
      answered: interaction,
      score(percent, progress) {
        if (!graded) return true;
        set("cmi.progress_measure", decimal(Math.min(1, Math.max(0, progress))));
        if ((complete || before === "passed") && percent < best) return true;
        // Some systems take the raw score for percent, and the one that is written last.
        set("cmi.score.min", "0");
        set("cmi.score.max", "100");
        set("cmi.score.raw", decimal(percent));
        return set("cmi.score.scaled", decimal(percent / 100, 6));
      },
      finished(passed, reportFailed) {
        if (!graded) return true;
        const well = set("cmi.completion_status", "completed");
        if (passed === true) return set("cmi.success_status", "passed") && well;
        if (passed === false && reportFailed && before !== "passed") return set("cmi.success_status", "failed") && well;
        return well;
      },
      place: (item) => set("cmi.location", text(item, 1000)),
      commit: () => call("Commit", "") === "true",
      end(ms, unfinished) {
        set("cmi.session_time", duration(ms));
        set("cmi.exit", unfinished ? "suspend" : "normal");
        call("Commit", "");
        return typeof api.Terminate !== "function" || call("Terminate", "") === "true";
      },
    };
  }

  window.planewardParts.scorm2004 = connect;
})();

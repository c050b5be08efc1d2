// A strict course system for SCORM 1.2 in front of another one: every call is held against the published data model, and
// what breaks it is kept in `window.breaches`. The run-time behind it is lenient where the standard is not.
//
// Sources: ADL, SCORM Run-Time Environment 1.2, chapter 3 (elements, CMI data types); the length of CMITimespan and of
// CMIString255/4096 as given there.
window.breaches = [];
window.calls = [];
window.strict12 = (inner) => {
  const breach = (text) => window.breaches.push(text);
  const text = (most) => (value) => value.length <= most;
  const oneOf = (...words) => (value) => words.includes(value);
  const pattern = (form) => (value) => form.test(value);
  const number = (low, high) => (value) => /^-?\d+(\.\d+)?$/.test(value) && Number(value) >= low && Number(value) <= high;
  const IDENTIFIER = /^[A-Za-z][A-Za-z0-9_]{0,254}$/;
  const TIMESPAN = /^\d{2,4}:[0-5]\d:[0-5]\d(\.\d{1,2})?$/;
  const TIME = /^([01]\d|2[0-3]):[0-5]\d:[0-5]\d(\.\d{1,2})?$/;
  const WRITE = [
    [/^cmi\.core\.lesson_status$/, oneOf("passed", "completed", "failed", "incomplete", "browsed")],
    [/^cmi\.core\.score\.(raw|min|max)$/, number(0, 100)],
    [/^cmi\.core\.lesson_location$/, text(255)],
    [/^cmi\.core\.exit$/, oneOf("time-out", "suspend", "logout", "")],
    [/^cmi\.core\.session_time$/, pattern(TIMESPAN)],
    [/^cmi\.suspend_data$/, (value) => value.length <= 4096 && /^[\n\x20-\x7e]*$/.test(value)],
    [/^cmi\.interactions\.\d+\.id$/, pattern(IDENTIFIER)],
    [/^cmi\.interactions\.\d+\.time$/, pattern(TIME)],
    [/^cmi\.interactions\.\d+\.type$/, oneOf("true-false", "choice", "fill-in", "matching", "performance", "sequencing", "likert", "numeric")],
    [/^cmi\.interactions\.\d+\.weighting$/, number(-100, 100)],
    [/^cmi\.interactions\.\d+\.result$/, (value) => ["correct", "wrong", "unanticipated", "neutral"].includes(value) || number(0, 999)(value)],
    [/^cmi\.interactions\.\d+\.latency$/, pattern(TIMESPAN)],
    [/^cmi\.interactions\.\d+\.(student_response|correct_responses\.0\.pattern)$/, null],
  ];
  const READ = /^cmi\.(core\.(lesson_status|score\.raw|lesson_mode|credit|entry|lesson_location)|student_data\.mastery_score|launch_data|suspend_data|interactions\._count)$/;
  const types = new Map();
  let state = "new";
  let next = 0;
  let dirty = false;
  const seen = new Set();
  window.strictState = () => ({ state, dirty });

  const running = (method) => {
    if (state !== "running") breach(`${method} while ${state}`);
  };
  const empty = (method, value) => {
    if (value !== "") breach(`${method}(${JSON.stringify(value)}): the parameter has to be ""`);
  };
  return {
    LMSInitialize(value) {
      empty("LMSInitialize", value);
      if (state !== "new") breach(`LMSInitialize while ${state}`);
      state = "running";
      return inner.LMSInitialize(value);
    },
    LMSFinish(value) {
      empty("LMSFinish", value);
      running("LMSFinish");
      state = "finished";
      if (dirty) breach("LMSFinish with values that were not committed");
      for (const needed of ["cmi.core.session_time", "cmi.core.exit"]) if (!seen.has(needed)) breach(`LMSFinish without ${needed}`);
      return inner.LMSFinish(value);
    },
    LMSGetValue(element) {
      running("LMSGetValue");
      if (/student_id|student_name/.test(element)) breach(`personal data is read: ${element}`);
      if (!READ.test(element)) breach(`read of ${element}`);
      return inner.LMSGetValue(element);
    },
    LMSSetValue(element, value) {
      running("LMSSetValue");
      window.calls.push([element, value]);
      if (typeof value !== "string") breach(`${element}: ${typeof value}`);
      const rule = WRITE.find(([name]) => name.test(element));
      if (!rule) breach(`write of ${element}`);
      else if (rule[1] && !rule[1](value)) breach(`${element} = ${JSON.stringify(value)}`);
      const index = /^cmi\.interactions\.(\d+)\.(.*)$/.exec(element);
      if (index) {
        const [, place, field] = index;
        if (Number(place) > next) breach(`${element}: ${next} is left out`);
        if (field === "id") next = Math.max(next, Number(place) + 1);
        if (field === "type") types.set(place, value);
        if (/response|pattern/.test(field)) {
          const form = { choice: /^[a-z0-9](,[a-z0-9])*$/, "fill-in": /^[^]{1,255}$/ }[types.get(place)];
          if (!form) breach(`${element} before its type`);
          else if (!form.test(value)) breach(`${element} = ${JSON.stringify(value)} for ${types.get(place)}`);
        }
      }
      if (element === "cmi.core.score.raw" && !(seen.has("cmi.core.score.min") && seen.has("cmi.core.score.max"))) breach("score.raw before min and max");
      seen.add(element);
      dirty = true;
      return inner.LMSSetValue(element, value);
    },
    LMSCommit(value) {
      empty("LMSCommit", value);
      running("LMSCommit");
      dirty = false;
      return inner.LMSCommit(value);
    },
    LMSGetLastError: () => inner.LMSGetLastError(),
    LMSGetErrorString: (code) => inner.LMSGetErrorString(code),
    LMSGetDiagnostic: (code) => inner.LMSGetDiagnostic(code),
  };
};

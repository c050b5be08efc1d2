// What the drivers for course systems share: finding what the system offers, writing times and texts as its standards
// have them. Plain scripts and not the program's own code, because course systems look through .js files for the names of
// the elements they grade by, and because this must work when the program does not.
(() => {
  "use strict";

  // IEEE 1484.11.2 has content look through this many windows at most.
  const MOST_PARENTS = 500;
  const METHODS = {
    API: ["LMSInitialize", "LMSGetValue", "LMSSetValue", "LMSCommit"],
    API_1484_11: ["Initialize", "GetValue", "SetValue", "Commit"],
  };

  // The object of this name on a window, if it is there, may be looked at, and has its methods. Some systems put an object
  // under a name whose methods it lacks, so a name alone is no promise.
  function on(place, name) {
    try {
      const api = place[name];
      if (api && METHODS[name].every((method) => typeof api[method] === "function")) return api;
    } catch {
      // A window of another origin.
    }
    return null;
  }

  function above(place, name) {
    for (let step = 0; step <= MOST_PARENTS; step += 1) {
      const api = on(place, name);
      if (api) return api;
      let next = null;
      try {
        next = place.parent;
      } catch {
        return null;
      }
      if (!next || next === place) return null;
      place = next;
    }
    return null;
  }

  // Looks in this window, in those around it, then in the one that opened it and those around that.
  function find(name) {
    const here = above(window, name);
    if (here) return here;
    for (const place of [window, window.top]) {
      try {
        const opener = place?.opener;
        const api = opener && opener !== place ? above(opener, name) : null;
        if (api) return api;
      } catch {
        // Of another origin.
      }
    }
    return null;
  }

  // How a driver speaks with what `find` gave: every answer is a text, "" where a method throws or is not there, and a value
  // that is none is "". The methods of SCORM 1.2 begin with LMS.
  function speak(api, prefix) {
    const call = (method, ...values) => {
      const name = `${prefix}${method}`;
      try {
        return typeof api[name] === "function" ? String(api[name](...values)) : "";
      } catch {
        return "";
      }
    };
    const get = (element) => {
      const value = call("GetValue", element);
      return value === "undefined" || value === "null" ? "" : value;
    };
    const set = (element, value) => call("SetValue", element, value) === "true";
    return { call, get, set };
  }

  const two = (number) => String(number).padStart(2, "0");

  // A number with a leading digit, a point, and no exponent.
  function decimal(value, digits = 4) {
    const number = Number.isFinite(value) ? value : 0;
    const text = number.toFixed(digits).replace(/\.?0+$/, "");
    return text === "-0" ? "0" : text;
  }

  // Printable text of at most `most` characters; `mark` names what the standard keeps for itself.
  function text(value, most, mark = /[^\s\S]/g) {
    const plain = String(value ?? "")
      // Control characters and halves of characters are refused by some systems.
      .replace(/[\u0000-\u001f\u007f-\u009f\ufffe\uffff]/g, " ")
      .replace(mark, " ");
    return [...plain].slice(0, most).join("").trim();
  }

  // A name of letters, digits and _ that starts with a letter, at most 64 long: what every system read so far accepts.
  function name(value) {
    const plain = String(value ?? "").replace(/[^A-Za-z0-9_]/g, "_").slice(0, 60);
    return /^[A-Za-z]/.test(plain) ? plain : `i_${plain}`;
  }

  const whole = (value) => {
    const number = Number.parseInt(value, 10);
    return Number.isFinite(number) && number > 0 ? number : 0;
  };

  // Hundredths of a second since `from`, never negative: clocks are put right while people work.
  const hundredths = (ms) => Math.max(0, Math.min(Math.round(ms / 10), 9999 * 360_000 + 359_999));

  // HHHH:MM:SS.ss (CMITimespan of SCORM 1.2).
  function timespan(ms) {
    const all = hundredths(ms);
    const seconds = Math.floor(all / 100);
    const hours = two(Math.floor(seconds / 3600));
    return `${hours}:${two(Math.floor(seconds / 60) % 60)}:${two(seconds % 60)}.${two(all % 100)}`;
  }

  // PT1H2M3.45S (ISO 8601 as SCORM 2004 and cmi5 have it), never empty.
  function duration(ms) {
    const all = hundredths(ms);
    const hours = Math.floor(all / 360_000);
    const minutes = Math.floor(all / 6000) % 60;
    return `PT${hours ? `${hours}H` : ""}${minutes ? `${minutes}M` : ""}${decimal((all % 6000) / 100, 2)}S`;
  }

  const clock = (at) => `${two(at.getHours())}:${two(at.getMinutes())}:${two(at.getSeconds())}`;

  // Local date and time without zone: the one form that all validators of SCORM 2004 accept.
  const stamp = (at) => `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}T${clock(at)}`;

  window.planewardParts = { find, speak, decimal, text, name, whole, timespan, duration, clock, stamp };
})();

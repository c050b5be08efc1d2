// cmi5 (AICC, Quartz, 1st edition) on xAPI 1.0.3: the launch is in the address of the page, the session in statements.
//
// The address holds who the learner is, so it is cleaned as soon as it is read, and the learner goes into statements only.
(() => {
  "use strict";
  const { decimal, text, name, duration } = window.planewardParts;
  const VERSION = "1.0.3";
  const VERB = "http://adlnet.gov/expapi/verbs/";
  const VERBS = {
    initialized: `${VERB}initialized`,
    answered: `${VERB}answered`,
    passed: `${VERB}passed`,
    failed: `${VERB}failed`,
    completed: `${VERB}completed`,
    terminated: `${VERB}terminated`,
  };
  const CATEGORY = "https://w3id.org/xapi/cmi5/context/categories/";
  const EXTENSION = "https://w3id.org/xapi/cmi5/context/extensions/";
  const STATE = "planeward-progress";

  async function connect() {
    const query = new URLSearchParams(location.search);
    const needed = ["endpoint", "fetch", "actor", "registration", "activityId"];
    if (!needed.every((key) => query.has(key))) {
      // A launch that was read before is no longer in the address: this is a reload.
      if (history.state?.planewardLaunched) throw new Error("used");
      return null;
    }
    const [endpoint, fetchUrl, actorText, registration, activityId] = needed.map((key) => query.get(key));
    for (const key of needed) query.delete(key);
    const rest = query.toString();
    history.replaceState({ ...history.state, planewardLaunched: true }, "", `${location.pathname}${rest ? `?${rest}` : ""}${location.hash}`);

    const actor = JSON.parse(actorText);
    // One use only: whoever reloads is told to launch again.
    const answer = await fetch(fetchUrl, { method: "POST", credentials: "omit" });
    const given = await answer.json();
    const token = given["auth-token"];
    // "1" is the standard's code for an address that was used before.
    if (!token) throw new Error(given["error-code"] === "1" || given["error-code"] === 1 ? "used" : "no token");

    const base = endpoint.endsWith("/") ? endpoint : `${endpoint}/`;
    const headers = { Authorization: `Basic ${token}`, "X-Experience-API-Version": VERSION };
    const address = (path, values) => `${base}${path}?${new URLSearchParams(values)}`;
    const ask = async (path, values) => {
      const response = await fetch(address(path, values), { headers, credentials: "omit" });
      if (response.status === 404) return "";
      if (!response.ok) throw new Error(`${path}: ${response.status}`);
      return response.text();
    };
    const own = { activityId, agent: JSON.stringify(actor), registration };
    const launch = JSON.parse((await ask("activities/state", { ...own, stateId: "LMS.LaunchData" })) || "{}");
    // Asked for because the standard wants it asked for; languages and sounds are the page's own affair.
    await ask("agents/profile", { agent: JSON.stringify(actor), profileId: "cmi5LearnerPreferences" }).catch(() => "");

    const mode = launch.launchMode || "Normal";
    const graded = mode === "Normal";
    const began = Date.now();
    const mastery = typeof launch.masteryScore === "number" ? launch.masteryScore : null;
    const object = { objectType: "Activity", id: activityId };

    // Statements of cmi5's own carry its category, those that judge or complete the other one as well; answers to
    // questions carry neither.
    function context(categories, extensions) {
      const template = structuredClone(launch.contextTemplate ?? {});
      const activities = { ...(template.contextActivities ?? {}) };
      if (categories.length) {
        const wanted = categories.map((end) => ({ objectType: "Activity", id: CATEGORY + end }));
        activities.category = [...(activities.category ?? []), ...wanted];
      }
      return {
        ...template,
        registration,
        ...(Object.keys(activities).length ? { contextActivities: activities } : {}),
        extensions: { ...(template.extensions ?? {}), ...extensions },
      };
    }

    // One after the other, so that the first statement is the first and the last the last; what still waits when the page
    // goes is sent at once, for a page that is going waits for nobody.
    let failed = false;
    let busy = false;
    const waiting = [];
    const sent = new Set();
    const done = (response) => {
      if (!response.ok) failed = true;
    };
    function next() {
      const request = busy ? undefined : waiting.shift();
      if (!request) return Promise.resolve();
      busy = true;
      return request()
        .then(done)
        .catch(() => {
          failed = true;
        })
        .then(() => {
          busy = false;
          return next();
        });
    }
    const queue = (request) => {
      waiting.push(request);
      return next();
    };
    function flush() {
      for (const request of waiting.splice(0)) {
        request()
          .then(done)
          .catch(() => {
            failed = true;
          });
      }
    }
    // Browsers let requests outlive their page up to 64 kB at a time.
    const outlives = (body) => body.length < 30_000;
    function send(verb, about, result, categories, extensions) {
      const body = JSON.stringify({
        id: crypto.randomUUID(),
        timestamp: new Date().toISOString(),
        actor,
        verb: { id: VERBS[verb], display: { "en-US": verb } },
        object: about,
        ...(result ? { result } : {}),
        context: context(categories, extensions),
      });
      return queue(() =>
        fetch(`${base}statements`, {
          method: "POST",
          headers: { ...headers, "Content-Type": "application/json" },
          body,
          credentials: "omit",
          keepalive: outlives(body),
        }),
      );
    }
    const since = () => ({ duration: duration(Date.now() - began) });
    const judged = { ...(mastery === null ? {} : { [`${EXTENSION}masteryscore`]: mastery }) };

    // Nothing may come before it.
    await send("initialized", object, null, ["cmi5"], {});
    let kept = await ask("activities/state", { ...own, stateId: STATE }).catch(() => "");
    let best = null;

    return {
      standard: "cmi5",
      mode: mode.toLowerCase(),
      masteryPercent: mastery === null ? null : 100 * mastery,
      stateBytes: 64_000,
      launchData: launch.launchParameters ?? "",
      read: () => kept,
      write(state) {
        kept = state;
        queue(() =>
          fetch(address("activities/state", { ...own, stateId: STATE }), {
            method: "PUT",
            headers: { ...headers, "Content-Type": "text/plain" },
            body: state,
            credentials: "omit",
            keepalive: outlives(state),
          }),
        );
        return !failed;
      },
      answered(item) {
        if (!graded) return true;
        const list = item.options.length > 1 && item.options.includes(item.correct);
        const definition = {
          type: "http://adlnet.gov/expapi/activities/cmi.interaction",
          interactionType: list ? "choice" : "fill-in",
          correctResponsesPattern: [list ? name(item.correct) : text(item.correct, 250, /[[\]{}]/g)],
        };
        if (list) definition.choices = item.options.map((key) => ({ id: name(key), description: { en: key } }));
        if (item.words) definition.description = { und: text(item.words, 500) };
        const about = { ...object, id: `${activityId.split("#")[0]}#${name(item.id)}`, definition };
        const result = {
          response: list ? name(item.answer) : text(item.answer, 250, /[[\]{}]/g),
          ...(item.outcome === "unanswered" ? {} : { success: item.outcome === "right" }),
          duration: duration(item.latencyMs),
          score: { scaled: Number(decimal(item.score)) },
        };
        send("answered", about, result, [], {});
        return !failed;
      },
      score(percent) {
        best = percent;
        return !failed;
      },
      finished(passed, reportFailed) {
        if (!graded) return true;
        const scaled = Number(decimal((best ?? 0) / 100, 6));
        // The system's own mark wins over the set's: "passed" below it would be refused.
        const well = mastery === null ? passed : scaled >= mastery;
        const verb = well === true ? "passed" : well === false && reportFailed ? "failed" : null;
        if (verb && !sent.has("passed") && !sent.has(verb)) {
          const result = { score: { scaled }, success: verb === "passed", ...since() };
          send(verb, object, result, ["cmi5", "moveon"], judged);
          sent.add(verb);
        }
        if (!sent.has("completed")) {
          send("completed", object, { completion: true, ...since() }, ["cmi5", "moveon"], {});
          sent.add("completed");
        }
        return !failed;
      },
      commit: () => !failed,
      end() {
        send("terminated", object, since(), ["cmi5"], {});
        flush();
        return !failed;
      },
      leave() {
        if (!launch.returnURL) return;
        const target = new URL(launch.returnURL, location.href);
        // Nothing but a page: an address can also be a script.
        if (target.protocol === "https:" || target.protocol === "http:") location.assign(target.href);
      },
    };
  }

  window.planewardParts.cmi5 = connect;
})();

"""A course system for cmi5: launch, one-use token, the documents and statements of xAPI 1.0.3, and the order of things.

No independently written one can be installed, so this one is ours; the same one is put before another implementation of the
content side, so that both are seen to speak alike.
"""

import json
import urllib.parse
import uuid

CATEGORY = "https://w3id.org/xapi/cmi5/context/categories/"
SESSION = "https://w3id.org/xapi/cmi5/context/extensions/sessionid"


class RecordStore:
    def __init__(self, host, *, mode="Normal", mastery=0.8, return_url=None):
        self.host = host
        self.registration = str(uuid.uuid4())
        self.actor = {"objectType": "Agent", "account": {"homePage": "https://school.example", "name": "learner-7"}}
        self.activity = "urn:planeward:set:0123456789abcdef"
        self.token = None
        self.fetched = 0
        self.states = {}
        self.statements = []
        self.log = []
        self.faults = []
        self.launch = {
            "contextTemplate": {
                "contextActivities": {"grouping": [{"objectType": "Activity", "id": "urn:school:course:7"}]},
                "extensions": {SESSION: str(uuid.uuid4())},
            },
            "launchMode": mode,
            "moveOn": "CompletedOrPassed",
        }
        if mastery is not None:
            self.launch["masteryScore"] = mastery
        if return_url:
            self.launch["returnURL"] = return_url
        host.answer = self.answer

    def address(self, page: str) -> str:
        query = urllib.parse.urlencode(
            {
                "endpoint": f"{self.host.other_site}/api/xapi/",
                "fetch": f"{self.host.other_site}/api/fetch",
                "actor": json.dumps(self.actor),
                "registration": self.registration,
                "activityId": self.activity,
            }
        )
        return f"{page}?{query}"

    CORS = {
        "Access-Control-Allow-Origin": "*",
        "Access-Control-Allow-Headers": "authorization, content-type, x-experience-api-version, if-match, if-none-match",
        "Access-Control-Allow-Methods": "GET, POST, PUT",
        "Access-Control-Expose-Headers": "etag",
        "X-Experience-API-Version": "1.0.3",
    }

    def json(self, status, value):
        return status, {**self.CORS, "Content-Type": "application/json"}, json.dumps(value).encode()

    def answer(self, method, path, query, headers, body):
        if method == "OPTIONS":
            return 204, self.CORS, b""
        self.log.append((method, path, query.get("stateId", [""])[0]))
        if path == "/api/fetch":
            self.fetched += 1
            if method != "POST":
                self.faults.append(f"the token is fetched by {method}")
            if self.fetched > 1:
                return self.json(200, {"error-code": "1", "error-text": "used"})
            self.token = uuid.uuid4().hex
            return self.json(200, {"auth-token": self.token})
        if headers.get("Authorization") != f"Basic {self.token}":
            self.faults.append(f"{method} {path} without the token: {headers.get('Authorization')}")
            return self.json(401, {})
        if headers.get("X-Experience-API-Version") != "1.0.3":
            self.faults.append(f"{method} {path} in version {headers.get('X-Experience-API-Version')}")
        if path == "/api/xapi/agents/profile":
            return 404, self.CORS, b""
        if path == "/api/xapi/activities/state":
            return self.state(method, query, body)
        if path == "/api/xapi/statements":
            if method not in ("POST", "PUT"):
                self.faults.append(f"{method} of statements")
            sent = json.loads(body)
            sent = sent if isinstance(sent, list) else [sent]
            for statement in sent:
                if method == "PUT":
                    statement.setdefault("id", query.get("statementId", [""])[0])
                statement.setdefault("id", None)
            self.statements += sent
            return self.json(200, [one["id"] for one in sent])
        self.faults.append(f"{method} {path}")
        return self.json(404, {})

    def state(self, method, query, body):
        for needed in ("activityId", "agent", "registration", "stateId"):
            if needed not in query:
                self.faults.append(f"{method} of a state without {needed}")
        name = query.get("stateId", [""])[0]
        if name == "LMS.LaunchData":
            if method != "GET":
                self.faults.append(f"{method} of the launch data")
            return self.json(200, self.launch)
        if method == "GET":
            if name in self.states:
                return 200, {**self.CORS, "Content-Type": "text/plain"}, self.states[name]
            return 404, self.CORS, b""
        self.states[name] = body
        return 204, self.CORS, b""

    def verbs(self) -> list[str]:
        return [statement["verb"]["id"].rsplit("/", 1)[1] for statement in self.statements]

    def of(self, verb: str) -> dict:
        [one] = [one for one in self.statements if one["verb"]["id"].endswith(f"/{verb}")]
        return one


def categories(statement) -> set[str]:
    found = statement["context"].get("contextActivities", {}).get("category", [])
    return {one["id"].removeprefix(CATEGORY) for one in found}

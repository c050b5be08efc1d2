"""A web server for one test: a package, a course system's page, and what that page needs."""

import http.server
import json
import pathlib
import threading
import urllib.parse

HERE = pathlib.Path(__file__).resolve().parent
TYPES = {".js": "text/javascript", ".html": "text/html", ".json": "application/json", ".css": "text/css", ".png": "image/png"}


class Host:
    """Serves `/content/` from a folder, `/modules/` from the node packages, `/tools/` from this folder, and pages.

    Requests to `/api/…` go to `answer`, a function of method, path, query, headers and body that gives status, headers
    and body. All requests are kept in `requests`.
    """

    def __init__(self, modules: pathlib.Path):
        self.modules = modules
        self.content: pathlib.Path | None = None
        self.pages: dict[str, str] = {}
        self.requests: list[tuple[str, str, bytes]] = []
        self.answer = lambda *_: (404, {}, b"")
        outer = self

        class Handler(http.server.BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def log_message(self, *_):
                pass

            def handle_any(self):
                length = int(self.headers.get("Content-Length") or 0)
                body = self.rfile.read(length)
                outer.requests.append((self.command, self.path, body))
                status, headers, answer = outer.respond(self.command, self.path, self.headers, body)
                self.send_response(status)
                for name, value in headers.items():
                    self.send_header(name, value)
                self.send_header("Content-Length", str(len(answer)))
                self.send_header("Cache-Control", "no-store")
                self.end_headers()
                self.wfile.write(answer)

            do_GET = do_POST = do_PUT = do_OPTIONS = handle_any

        self.server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.server.daemon_threads = True
        self.port = self.server.server_address[1]
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def other_site(self) -> str:
        """The same server under a name that is another site to the browser."""
        return f"http://localhost:{self.port}"

    def respond(self, method, path, headers, body):
        parts = urllib.parse.urlsplit(path)
        name = urllib.parse.unquote(parts.path)
        if name.startswith("/api/"):
            return self.answer(method, name, urllib.parse.parse_qs(parts.query), headers, body)
        if name in self.pages:
            return 200, {"Content-Type": "text/html; charset=utf-8"}, self.pages[name].encode()
        for prefix, folder in (("/content/", self.content), ("/modules/", self.modules), ("/tools/", HERE)):
            if folder and name.startswith(prefix):
                file = (folder / name[len(prefix):]).resolve()
                if file.is_file() and folder.resolve() in file.parents:
                    kind = TYPES.get(file.suffix, "application/octet-stream")
                    return 200, {"Content-Type": kind}, file.read_bytes()
        return 404, {}, b""

    def posted(self, path: str) -> list:
        """The JSON bodies of all posts to a path, in their order."""
        return [json.loads(body) for method, where, body in self.requests if method == "POST" and where.split("?")[0] == path and body]

    def stop(self):
        self.server.shutdown()
        self.server.server_close()

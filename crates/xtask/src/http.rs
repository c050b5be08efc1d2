//! A small web server for this machine only: a static host with the production headers.
//!
//! It speaks as much HTTP/1.1 as a browser needs to load static files: GET and HEAD, one answer
//! per connection, no ranges. Browser tests use it too, so that the policy and the file types they
//! meet are those a real host should send.

use anyhow::{Context as _, Result};
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::{TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

/// What a page may do: load its own files, compile its own WebAssembly, show pictures it made.
///
/// No inline script or style, no `eval`, no other host, no form target, no changed base address.
const POLICY: &str = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; \
    img-src 'self' blob: data:; font-src 'self'; connect-src 'self'; frame-src 'self'; manifest-src 'self'; \
    base-uri 'none'; form-action 'none'";

/// A page of a course system may frame this one; a `<meta>` element cannot carry this directive
/// (W3C Content Security Policy Level 3, section 3.3).
const FRAMES: &str = "frame-ancestors *";

/// The policy for a `<meta>` element.
pub(crate) fn page_policy() -> String {
    POLICY.to_owned()
}

/// The policy of the start page of cmi5 packages: it speaks to a record store whose address only the launch tells.
pub(crate) fn record_store_policy() -> String {
    POLICY.replace("connect-src 'self'", "connect-src *")
}

/// A folder and the address it stands under.
#[derive(Debug)]
pub(crate) struct Site {
    dir: PathBuf,
    /// `/` or `/a/b/`.
    under: String,
}

/// One answer.
#[derive(Debug, Default)]
struct Answer {
    status: u16,
    headers: Vec<(&'static str, String)>,
    body: Vec<u8>,
}

impl Site {
    /// # Errors
    ///
    /// When the folder is not there.
    pub(crate) fn new(dir: &Path, under: &str) -> Result<Self> {
        let dir = dir.canonicalize().with_context(|| {
            format!(
                "there is no folder {}: run `cargo xtask build`",
                dir.display()
            )
        })?;
        let inner = under.trim_matches('/');
        let under = if inner.is_empty() {
            "/".to_owned()
        } else {
            format!("/{inner}/")
        };
        Ok(Self { dir, under })
    }

    /// The path of the start page.
    pub(crate) fn start(&self) -> &str {
        &self.under
    }

    /// Serves until the program is ended.
    pub(crate) fn serve(self, listener: &TcpListener) {
        let site = Arc::new(self);
        for stream in listener.incoming().flatten() {
            let site = Arc::clone(&site);
            // A browser that goes away in the middle is no event worth a word.
            std::thread::spawn(move || drop(site.talk(stream)));
        }
    }

    fn talk(&self, stream: TcpStream) -> std::io::Result<()> {
        const LONGEST_REQUEST: u64 = 16 * 1024;
        stream.set_read_timeout(Some(Duration::from_secs(10)))?;
        stream.set_nodelay(true)?;
        let mut lines = BufReader::new(stream.try_clone()?).take(LONGEST_REQUEST);
        let mut first = String::new();
        lines.read_line(&mut first)?;
        let mut gzip = false;
        loop {
            let mut line = String::new();
            if lines.read_line(&mut line)? == 0 || line.trim().is_empty() {
                break;
            }
            if let Some((name, value)) = line.split_once(':')
                && name.eq_ignore_ascii_case("accept-encoding")
            {
                gzip = value.split(',').any(|coding| coding.trim() == "gzip");
            }
        }
        let mut words = first.split_whitespace();
        let (method, target) = (words.next().unwrap_or(""), words.next().unwrap_or(""));
        if method.is_empty() {
            return Ok(());
        }
        let answer = self.answer(method, target, gzip);
        answer.send(stream, method == "HEAD")
    }

    fn answer(&self, method: &str, target: &str, gzip: bool) -> Answer {
        if method != "GET" && method != "HEAD" {
            let mut answer = Answer::text(405, "only GET and HEAD are answered here");
            answer.headers.push(("Allow", "GET, HEAD".to_owned()));
            return answer;
        }
        let path = target.split(['?', '#']).next().unwrap_or("");
        let Some(below) = path.strip_prefix(&self.under) else {
            return Answer::text(404, "there is nothing here");
        };
        let Some(file) = self.file(below) else {
            return Answer::text(404, "there is no such file");
        };
        if file.is_dir() {
            return Answer::text(404, "this is a folder");
        }
        let Ok(mut body) = std::fs::read(&file) else {
            return Answer::text(404, "this file cannot be read");
        };
        let mut headers = vec![("Content-Type", media_type(&file).to_owned())];
        let mut packed = file.clone().into_os_string();
        packed.push(".gz");
        if let Ok(bytes) = std::fs::read(&packed) {
            headers.push(("Vary", "Accept-Encoding".to_owned()));
            if gzip {
                headers.push(("Content-Encoding", "gzip".to_owned()));
                body = bytes;
            }
        }
        Answer {
            status: 200,
            headers,
            body,
        }
    }

    /// The file for a path below the site, or nothing when the path leaves the folder.
    fn file(&self, below: &str) -> Option<PathBuf> {
        let decoded = percent_decoded(below)?;
        let mut file = self.dir.clone();
        for part in decoded.split('/') {
            let refused = part == ".." || part == "." || part.contains(['\\', ':', '\0']);
            if refused {
                return None;
            }
            if !part.is_empty() {
                file.push(part);
            }
        }
        if decoded.is_empty() || decoded.ends_with('/') {
            file.push("index.html");
        }
        // A symbolic link may still lead out.
        let real = file.canonicalize().ok()?;
        real.starts_with(&self.dir).then_some(real)
    }
}

impl Answer {
    fn text(status: u16, text: &str) -> Self {
        Self {
            status,
            headers: vec![("Content-Type", "text/plain; charset=utf-8".to_owned())],
            body: format!("{text}\n").into_bytes(),
        }
    }

    fn send(&self, mut stream: TcpStream, head_only: bool) -> std::io::Result<()> {
        let reason = match self.status {
            200 => "OK",
            404 => "Not Found",
            405 => "Method Not Allowed",
            _ => "",
        };
        let mut head = format!("HTTP/1.1 {} {reason}\r\n", self.status);
        let common = [
            ("Content-Length", self.body.len().to_string()),
            ("Content-Security-Policy", format!("{POLICY}; {FRAMES}")),
            // A fresh build must be seen at once; a real host keeps the hashed files for ever.
            ("Cache-Control", "no-cache".to_owned()),
            ("X-Content-Type-Options", "nosniff".to_owned()),
            ("Referrer-Policy", "no-referrer".to_owned()),
            // These three let pages with cross-origin isolation or a sandbox frame this one.
            ("Access-Control-Allow-Origin", "*".to_owned()),
            ("Cross-Origin-Embedder-Policy", "require-corp".to_owned()),
            ("Cross-Origin-Resource-Policy", "cross-origin".to_owned()),
            ("Connection", "close".to_owned()),
        ];
        for (name, value) in self.headers.iter().chain(&common) {
            head.push_str(name);
            head.push_str(": ");
            head.push_str(value);
            head.push_str("\r\n");
        }
        head.push_str("\r\n");
        stream.write_all(head.as_bytes())?;
        if !head_only {
            stream.write_all(&self.body)?;
        }
        stream.flush()
    }
}

/// `application/wasm` must stand without parameters, or the browser will not compile while loading.
fn media_type(file: &Path) -> &'static str {
    match file.extension().and_then(|ending| ending.to_str()) {
        Some("html") => "text/html; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        Some("wasm") => "application/wasm",
        Some("glb") => "model/gltf-binary",
        Some("json") => "application/json",
        Some("webmanifest") => "application/manifest+json",
        Some("svg") => "image/svg+xml",
        Some("png") => "image/png",
        Some("ico") => "image/vnd.microsoft.icon",
        Some("woff2") => "font/woff2",
        Some("txt") => "text/plain; charset=utf-8",
        Some("zip") => "application/zip",
        _ => "application/octet-stream",
    }
}

/// Decodes `%41` and refuses half escapes and what is no UTF-8.
fn percent_decoded(text: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.bytes();
    while let Some(byte) = rest.next() {
        if byte == b'%' {
            let digits = [rest.next()?, rest.next()?];
            let digits = std::str::from_utf8(&digits).ok()?;
            bytes.push(u8::from_str_radix(digits, 16).ok()?);
        } else {
            bytes.push(byte);
        }
    }
    String::from_utf8(bytes).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A folder with a page and a secret beside it.
    fn site(name: &str, under: &str) -> Site {
        let base =
            std::env::temp_dir().join(format!("planeward-http-{}-{name}", std::process::id()));
        let dir = base.join("dist");
        std::fs::create_dir_all(dir.join("sub")).unwrap();
        std::fs::write(base.join("secret.txt"), "secret").unwrap();
        std::fs::write(dir.join("index.html"), "page").unwrap();
        std::fs::write(dir.join("a b.wasm"), "module").unwrap();
        std::fs::write(dir.join("a b.wasm.gz"), "packed").unwrap();
        Site::new(&dir, under).unwrap()
    }

    #[test]
    fn check_answers() {
        let site = site("answers", "/");
        for (method, target, status, body) in [
            ("GET", "/", 200, "page"),
            ("GET", "/?a=1", 200, "page"),
            ("GET", "/index.html", 200, "page"),
            ("HEAD", "/index.html", 200, "page"),
            ("GET", "/a%20b.wasm", 200, "module"),
            ("GET", "/sub", 404, "this is a folder\n"),
            ("GET", "/sub/", 404, "there is no such file\n"),
            ("GET", "/none.js", 404, "there is no such file\n"),
            ("POST", "/", 405, "only GET and HEAD are answered here\n"),
        ] {
            let answer = site.answer(method, target, false);
            assert_eq!(answer.status, status, "{method} {target}");
            assert_eq!(
                String::from_utf8(answer.body).unwrap(),
                body,
                "{method} {target}"
            );
        }
    }

    #[test]
    fn check_no_way_out() {
        let site = site("way-out", "/");
        for target in [
            "/../secret.txt",
            "/sub/../../secret.txt",
            "/%2e%2e/secret.txt",
            "/..%2fsecret.txt",
            "/..\\secret.txt",
            "/%2e%2e%5csecret.txt",
            "//../secret.txt",
            "/\0",
            "/%",
            "/%zz",
            "/%ff",
            "",
        ] {
            let answer = site.answer("GET", target, false);
            assert_eq!(answer.status, 404, "{target:?}");
        }
    }

    #[cfg(unix)]
    #[test]
    fn check_no_way_out_by_link() {
        let site = site("link", "/");
        let link = site.dir.join("link.txt");
        std::fs::remove_file(&link).ok();
        std::os::unix::fs::symlink(site.dir.join("../secret.txt"), &link).unwrap();
        assert_eq!(site.answer("GET", "/link.txt", false).status, 404);
    }

    #[test]
    fn check_compressed_copies() {
        let site = site("gzip", "/");
        let plain = site.answer("GET", "/a%20b.wasm", false);
        let packed = site.answer("GET", "/a%20b.wasm", true);
        assert_eq!(
            (plain.body, packed.body),
            (b"module".to_vec(), b"packed".to_vec())
        );
        let has = |name: &str, value: &str| {
            packed.headers.contains(&(
                if name == "t" {
                    "Content-Type"
                } else {
                    "Content-Encoding"
                },
                value.to_owned(),
            ))
        };
        assert!(
            has("t", "application/wasm"),
            "the type is that of the file inside"
        );
        assert!(has("e", "gzip"), "the coding is named");
    }

    #[test]
    fn check_sub_path() {
        let site = site("under", "course/7");
        assert_eq!(site.start(), "/course/7/");
        assert_eq!(site.answer("GET", "/course/7/", false).status, 200);
        assert_eq!(
            site.answer("GET", "/", false).status,
            404,
            "nothing stands above"
        );
        assert_eq!(
            site.answer("GET", "/course/7", false).status,
            404,
            "not without the slash"
        );
    }

    #[test]
    fn check_over_the_wire() {
        let site = site("wire", "/");
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let address = listener.local_addr().unwrap();
        std::thread::spawn(move || site.serve(&listener));
        let ask = |request: &str| {
            let mut stream = TcpStream::connect(address).unwrap();
            stream.write_all(request.as_bytes()).unwrap();
            let mut text = String::new();
            stream.read_to_string(&mut text).unwrap();
            text
        };
        let got = ask("GET / HTTP/1.1\r\nHost: a\r\n\r\n");
        assert!(got.starts_with("HTTP/1.1 200 OK\r\n"), "{got}");
        assert!(got.ends_with("\r\n\r\npage"), "{got}");
        assert!(
            got.contains("'wasm-unsafe-eval'") && !got.contains("unsafe-inline"),
            "{got}"
        );
        let head = ask("HEAD / HTTP/1.1\r\nHost: a\r\n\r\n");
        assert!(
            head.contains("Content-Length: 4\r\n") && head.ends_with("\r\n\r\n"),
            "{head}"
        );
        assert!(
            ask("GET / HTTP/1.1\r\nAccept-Encoding: br, gzip\r\n\r\n").contains("200 OK"),
            "a request with codings"
        );
    }
}

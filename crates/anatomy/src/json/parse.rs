//! The grammar of RFC 8259, by descent.

use super::{Json, JsonError};

/// Deepest nesting: our files need six levels, and every level takes stack.
const DEEPEST: usize = 64;

pub(super) fn whole(text: &[u8]) -> Result<Json, JsonError> {
    let mut parser = Parser { text, at: 0 };
    let value = parser.value(0)?;
    parser.blank();
    match parser.peek() {
        None => Ok(value),
        Some(_) => Err(parser.wrong("the end")),
    }
}

struct Parser<'a> {
    text: &'a [u8],
    at: usize,
}

impl Parser<'_> {
    fn peek(&self) -> Option<u8> {
        self.text.get(self.at).copied()
    }

    fn wrong(&self, expected: &'static str) -> JsonError {
        JsonError::Syntax {
            expected,
            at: self.at,
        }
    }

    fn blank(&mut self) {
        while let Some(b' ' | b'\t' | b'\n' | b'\r') = self.peek() {
            self.at += 1;
        }
    }

    /// Takes `byte` if it is next.
    fn take(&mut self, byte: u8) -> bool {
        let next = self.peek() == Some(byte);
        self.at += usize::from(next);
        next
    }

    fn value(&mut self, depth: usize) -> Result<Json, JsonError> {
        if depth > DEEPEST {
            return Err(self.wrong("fewer levels"));
        }
        self.blank();
        match self.peek() {
            Some(b'{') => self.object(depth),
            Some(b'[') => self.list(depth),
            Some(b'"') => self.string().map(Json::Text),
            Some(b't') => self.word(b"true", Json::Bool(true)),
            Some(b'f') => self.word(b"false", Json::Bool(false)),
            Some(b'n') => self.word(b"null", Json::Null),
            _ => self.number(),
        }
    }

    fn word(&mut self, word: &'static [u8], value: Json) -> Result<Json, JsonError> {
        if self
            .text
            .get(self.at..)
            .is_some_and(|rest| rest.starts_with(word))
        {
            self.at += word.len();
            Ok(value)
        } else {
            Err(self.wrong("a value"))
        }
    }

    fn list(&mut self, depth: usize) -> Result<Json, JsonError> {
        self.at += 1;
        let mut list = Vec::new();
        self.blank();
        if self.take(b']') {
            return Ok(Json::List(list));
        }
        loop {
            list.push(self.value(depth + 1)?);
            self.blank();
            if self.take(b']') {
                return Ok(Json::List(list));
            }
            if !self.take(b',') {
                return Err(self.wrong("',' or ']'"));
            }
        }
    }

    fn object(&mut self, depth: usize) -> Result<Json, JsonError> {
        self.at += 1;
        let mut fields: Vec<(String, Json)> = Vec::new();
        self.blank();
        if self.take(b'}') {
            return Ok(Json::Object(fields));
        }
        loop {
            self.blank();
            let name = self.string()?;
            if fields.iter().any(|(known, _)| *known == name) {
                return Err(JsonError::Twice(name));
            }
            self.blank();
            if !self.take(b':') {
                return Err(self.wrong("':'"));
            }
            let value = self.value(depth + 1)?;
            fields.push((name, value));
            self.blank();
            if self.take(b'}') {
                return Ok(Json::Object(fields));
            }
            if !self.take(b',') {
                return Err(self.wrong("',' or '}'"));
            }
        }
    }

    fn digits(&mut self) -> Result<(), JsonError> {
        let from = self.at;
        while self.peek().is_some_and(|byte| byte.is_ascii_digit()) {
            self.at += 1;
        }
        if self.at == from {
            return Err(self.wrong("a digit"));
        }
        Ok(())
    }

    fn number(&mut self) -> Result<Json, JsonError> {
        let from = self.at;
        self.take(b'-');
        // A number has no needless leading zero.
        if !self.take(b'0') {
            if !self.peek().is_some_and(|byte| byte.is_ascii_digit()) {
                return Err(self.wrong("a value"));
            }
            self.digits()?;
        }
        if self.take(b'.') {
            self.digits()?;
        }
        if self.take(b'e') || self.take(b'E') {
            let _ = self.take(b'+') || self.take(b'-');
            self.digits()?;
        }
        let number = self
            .text
            .get(from..self.at)
            .and_then(|digits| std::str::from_utf8(digits).ok()?.parse::<f64>().ok());
        match number {
            Some(number) if number.is_finite() => Ok(Json::Number(number)),
            _ => Err(self.wrong("a number in range")),
        }
    }

    fn string(&mut self) -> Result<String, JsonError> {
        if !self.take(b'"') {
            return Err(self.wrong("a string"));
        }
        let mut text = Vec::new();
        loop {
            let Some(byte) = self.peek() else {
                return Err(self.wrong("'\"'"));
            };
            match byte {
                b'"' => break,
                b'\\' => {
                    self.at += 1;
                    let letter = self.escape()?;
                    text.extend(letter.encode_utf8(&mut [0; 4]).bytes());
                }
                0..0x20 => return Err(self.wrong("no control character")),
                _ => {
                    text.push(byte);
                    self.at += 1;
                }
            }
        }
        let text = String::from_utf8(text).map_err(|_broken| self.wrong("UTF-8"))?;
        self.at += 1;
        Ok(text)
    }

    /// What stands after a backslash.
    fn escape(&mut self) -> Result<char, JsonError> {
        let letter = match self.peek() {
            Some(byte @ (b'"' | b'\\' | b'/')) => char::from(byte),
            Some(b'b') => '\u{8}',
            Some(b'f') => '\u{c}',
            Some(b'n') => '\n',
            Some(b'r') => '\r',
            Some(b't') => '\t',
            Some(b'u') => {
                self.at += 1;
                return self.code_point();
            }
            _ => return Err(self.wrong("an escape")),
        };
        self.at += 1;
        Ok(letter)
    }

    /// Four hexadecimal digits, or eight of a surrogate pair (RFC 8259, section 7).
    fn code_point(&mut self) -> Result<char, JsonError> {
        let high = self.hex()?;
        let code = if (0xd800..0xdc00).contains(&high) && self.take(b'\\') && self.take(b'u') {
            let low = self.hex()?;
            if !(0xdc00..0xe000).contains(&low) {
                return Err(self.wrong("the second half of a pair"));
            }
            0x1_0000 + ((high - 0xd800) << 10) + (low - 0xdc00)
        } else {
            high
        };
        char::from_u32(code).ok_or_else(|| self.wrong("a character"))
    }

    fn hex(&mut self) -> Result<u32, JsonError> {
        let mut code = 0;
        for _ in 0..4 {
            let Some(digit) = self.peek().and_then(|byte| char::from(byte).to_digit(16)) else {
                return Err(self.wrong("a hexadecimal digit"));
            };
            code = code * 16 + digit;
            self.at += 1;
        }
        Ok(code)
    }
}

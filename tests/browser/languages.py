"""Language files, and two languages that nobody speaks, made from one that is complete."""

import pathlib
import re

FOLDER = pathlib.Path(__file__).resolve().parents[2] / "web" / "languages"

# Latin letters as Hebrew ones, so that the browser sets them from right to left.
HEBREW = {latin: chr(0x5D0 + number % 27) for number, latin in enumerate("abcdefghijklmnopqrstuvwxyz")}
ACCENTED = str.maketrans("aeiouncAEIOUNC", "âêîôûñçÂÊÎÔÛÑÇ")

# Tables whose words are no words.
SIGNS = ("units",)
HEAD = ("language", "direction", "plurals")


def lines(text: str):
    """Heading, key and words of each line, as the program reads them."""
    heading = ""
    for line in text.splitlines():
        line = line.strip()
        if line.startswith("[") and line.endswith("]"):
            heading = line[1:-1].strip()
        elif not line.startswith("#") and "=" in line:
            key, words = (part.strip() for part in line.split("=", 1))
            yield heading, key, words


def words_of(tag: str) -> dict[str, str]:
    text = (FOLDER / f"{tag}.txt").read_text(encoding="utf-8")
    return {f"{heading}.{key}".lstrip("."): words for heading, key, words in lines(text)}


def _each_piece(words: str, change) -> str:
    """Changes what stands between the places for values and the bars between forms."""
    return "".join(part if re.fullmatch(r"\{\d*\}|\|", part) else change(part) for part in re.split(r"(\{\d*\}|\|)", words))


def _longer(piece: str) -> str:
    """Two fifths longer, with accents: as long as words get in translation."""
    room = round(len(piece.strip()) * 0.4)
    return piece.translate(ACCENTED) if not room else piece.rstrip().translate(ACCENTED) + "~" * room + piece[len(piece.rstrip()) :]


def _turned(piece: str) -> str:
    return "".join(HEBREW.get(letter.lower(), letter) for letter in piece)


def pseudo(kind: str) -> str:
    """The text of a language file: "long" or "rtl"."""
    change = {"long": _longer, "rtl": _turned}[kind]
    head = {"long": "language = es\ndirection = ltr", "rtl": "language = he\ndirection = rtl"}[kind]
    made = [head, "plurals = one"]
    for heading, key, words in lines((FOLDER / "es.txt").read_text(encoding="utf-8")):
        if heading == "" and key in HEAD:
            continue
        if heading not in SIGNS:
            words = _each_piece(words, change)
        made.append(f"[{heading}]\n{key} = {words}")
    return "\n".join(made) + "\n"


def serve_pseudo(page, kind: str):
    """From now on the page gets this language where it asks for Spanish."""
    text = pseudo(kind)
    page.route(re.compile(r".*/languages/es-.*\.txt"), lambda route: route.fulfill(body=text, content_type="text/plain; charset=utf-8"))

"""A page as one file: everything inside it, nothing leaves it, and no text in it can become code."""

import base64
import hashlib
import json
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from panchime import __version__
from panchime.terminal.safe_text import safe_lines

HERE = Path(__file__).parent
CHART_SCRIPTS = ("vendor/uplot/uPlot.iife.min.js", "assets/curves.js")
CHART_STYLES = ("vendor/uplot/uPlot.min.css", "assets/page.css")
LIST_SCRIPTS = ("assets/list.js",)
LIST_STYLES = ("assets/page.css",)


@cache
def asset(name: str) -> str:
    """The text of a script or style that comes with the package."""
    return (HERE / name).read_text(encoding="utf-8").strip()


def json_for_page(value: Any) -> Markup:
    """A value as JSON for the inside of a script element: no character in it can end the element or open a comment."""
    text = json.dumps(value, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return Markup(text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e"))


def content_policy(scripts: tuple[str, ...], styles: tuple[str, ...]) -> str:
    """A Content-Security-Policy (W3C, level 3) under which these very texts run, and nothing is loaded or sent."""

    def sources(texts: tuple[str, ...]) -> str:
        digests = (base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() for text in texts)
        return " ".join(f"'sha256-{digest}'" for digest in digests)

    return (
        f"default-src 'none'; script-src {sources(scripts)}; style-src {sources(styles)}; img-src data:; "
        "base-uri 'none'; form-action 'none'"
    )


def harmless(value: Any) -> Any:
    """Every text that a template writes loses control characters and marks that turn the reading direction."""
    return safe_lines(value) if isinstance(value, str) and not isinstance(value, Markup) else value


@cache
def environment() -> Environment:
    """The templates; every value is escaped, a missing one is an error."""
    return Environment(
        loader=FileSystemLoader(HERE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=harmless,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def page(template: str, scripts: tuple[str, ...], styles: tuple[str, ...], made_from: str, **values: Any) -> str:
    """The HTML of a page. ``made_from`` is the fingerprint of what it shows."""
    script_texts, style_texts = tuple(asset(name) for name in scripts), tuple(asset(name) for name in styles)
    return (
        environment()
        .get_template(template)
        .render(
            policy=content_policy(script_texts, style_texts),
            scripts=[Markup(text) for text in script_texts],
            styles=[Markup(text) for text in style_texts],
            made_from=made_from,
            version=__version__,
            **values,
        )
    )


@cache
def look() -> str:
    """A fingerprint of the package's version, templates, scripts and styles: when it changes, every page is made anew."""
    digest = hashlib.sha256(__version__.encode())
    for file in sorted(file for file in HERE.rglob("*") if file.suffix in (".py", ".html", ".js", ".css")):
        digest.update(file.read_bytes())
    return digest.hexdigest()

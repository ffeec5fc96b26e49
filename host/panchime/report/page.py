"""A page: everything inside it, or its scripts and styles in a folder beside it; no text in it can become code."""

import base64
import hashlib
import json
from collections.abc import Iterable
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
BRIEF_SCRIPTS = ("vendor/uplot/uPlot.iife.min.js", "assets/brief.js")
LIST_SCRIPTS = ("assets/list.js",)
LIST_STYLES = ("assets/page.css",)
PLOT_LICENCE = "vendor/uplot/LICENSE"
SHARED = "shared"  # the folder beside pages that share their scripts and styles
SHARED_FILES = (*CHART_SCRIPTS, *CHART_STYLES, *BRIEF_SCRIPTS[1:], *LIST_SCRIPTS, PLOT_LICENCE)
POLICY = "default-src 'none'; script-src {scripts}; style-src {styles}; img-src data:; base-uri 'none'; form-action 'none'"
# Scripts and styles are files of the folder; none that stands in a page runs. A page opened from a disk has no origin, and not
# every browser takes 'self' for its folder then: hence the scheme.
SHARED_POLICY = POLICY.format(scripts="'self' file:", styles="'self' file:")


@cache
def asset(name: str) -> str:
    """The text of a script or style that comes with the package."""
    return (HERE / name).read_text(encoding="utf-8").strip()


def json_for_page(value: Any) -> Markup:
    """A value as JSON for the inside of a script element: no character in it can end the element or open a comment."""
    text = json.dumps(value, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return Markup(text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e"))


def content_policy(scripts: Iterable[str], styles: Iterable[str]) -> str:
    """A Content-Security-Policy (W3C, level 3) under which these very texts run, and nothing is loaded or sent."""

    def sources(texts: Iterable[str]) -> str:
        digests = (base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() for text in texts)
        return " ".join(f"'sha256-{digest}'" for digest in digests)

    return POLICY.format(scripts=sources(scripts), styles=sources(styles))


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


@cache
def own_parts(scripts: tuple[str, ...], styles: tuple[str, ...]) -> dict[str, Any]:
    """The head and foot of a page that holds everything."""
    script_texts, style_texts = [asset(name) for name in scripts], [asset(name) for name in styles]
    return {
        "policy": content_policy(script_texts, style_texts),
        "scripts": [Markup(text) for text in script_texts],
        "styles": [Markup(text) for text in style_texts],
        "shared_scripts": [],
        "shared_styles": [],
        "licence": asset(PLOT_LICENCE),
    }


@cache
def shared_parts(scripts: tuple[str, ...], styles: tuple[str, ...]) -> dict[str, Any]:
    """The head and foot of a page whose scripts and styles lie beside it."""
    return {
        "policy": SHARED_POLICY,
        "scripts": [],
        "styles": [],
        "shared_scripts": [shared_name(name) for name in scripts],
        "shared_styles": [shared_name(name) for name in styles],
        "licence": "",
    }


def shared_name(name: str) -> str:
    """Where a page finds a script or style that lies beside it."""
    return f"{SHARED}/{Path(name).name.replace('LICENSE', 'uPlot.LICENSE')}"


def page(
    template: str, scripts: tuple[str, ...], styles: tuple[str, ...], made_from: str, *, shared: bool = False, **values: Any
) -> str:
    """The HTML of a page. ``made_from`` is the fingerprint of what it shows; ``shared``: scripts and styles lie beside it."""
    parts = shared_parts(scripts, styles) if shared else own_parts(scripts, styles)
    return environment().get_template(template).render(**parts, made_from=made_from, version=__version__, **values)


@cache
def look() -> str:
    """A fingerprint of the package's version, templates, scripts and styles: when it changes, every page is made anew."""
    digest = hashlib.sha256(__version__.encode())
    for file in sorted(file for file in HERE.rglob("*") if file.suffix in (".py", ".html", ".js", ".css")):
        digest.update(file.read_bytes())
    return digest.hexdigest()

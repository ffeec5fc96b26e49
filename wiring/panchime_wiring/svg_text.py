"""Makes a drawing's SVG small: styles that repeat become classes, numbers keep one decimal."""

import re

_STYLE = re.compile(r' style="([^"]*)"')
_NUMBER = re.compile(r"-?\d+\.\d{2,}")


_SAFETY = re.compile(r"<text[^>]*>(?:(?!</text>).)*SAFETY\.md(?:(?!</text>).)*</text>", re.S)


def finished(text: str) -> str:
    """A drawing as it is kept: small, and where it names the page on safety, a link to it."""
    return small(_SAFETY.sub(r'<a href="../../SAFETY.md">\g<0></a>', text))


def small(text: str) -> str:
    """The same drawing with fewer bytes, one element on a line, so that a change reads well."""
    head_end = text.index(">") + 1
    head, body = text[:head_end], text[head_end:]
    styles: dict[str, str] = {}

    def to_class(match: re.Match[str]) -> str:
        style = match[1].replace("stroke-dasharray:-;", "")
        return f' class="{styles.setdefault(style, f"s{len(styles)}")}"'

    body = _STYLE.sub(to_class, body)
    body = _NUMBER.sub(lambda match: f"{float(match[0]):.1f}".rstrip("0").rstrip("."), body)
    body = re.sub(r" />", "/>", body).replace("><", ">\n<")
    sheet = "".join(f".{name}{{{style}}}" for style, name in styles.items())
    return f"{head}\n<style>{sheet}</style>\n{body.strip()}\n"

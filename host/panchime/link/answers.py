"""Taking a board's answer apart: comma-separated fields, strings in quotes."""

from panchime.errors import LinkError

NOT_A_NUMBER = 9.91e37  # SCPI-1999 volume 1, 7.2.1.5


def split_fields(answer: str) -> list[str]:
    """The fields of an answer; one in double quotes may hold commas, and a quote in it is doubled (IEEE 488.2, 8.7.8).

    Quotes are taken off. Raises LinkError when a quote is never closed.
    """
    fields: list[str] = []
    current: list[str] = []
    quoted = False
    index = 0
    while index < len(answer):
        character = answer[index]
        if quoted:
            if character != '"':
                current.append(character)
            elif answer[index + 1 : index + 2] == '"':
                current.append('"')
                index += 1
            else:
                quoted = False
        elif character == '"':
            quoted = True
        elif character == ",":
            fields.append("".join(current))
            current = []
        elif character != " " or current:
            current.append(character)
        index += 1
    if quoted:
        raise LinkError(f"the board's answer ends inside a quoted text: {answer!r}. Unplug the board, plug it in, try again")
    fields.append("".join(current))
    return fields


def quoted(text: str) -> str:
    """``text`` as a string of a message: in double quotes, quotes in it doubled."""
    return '"' + text.replace('"', '""') + '"'


def whole(field: str, what: str) -> int:
    """A field as a whole number. Raises LinkError that names ``what``."""
    try:
        return int(field)
    except ValueError:
        raise LinkError(f"the board's answer to {what} has {field!r} where a whole number belongs") from None


def number(field: str, what: str) -> float | None:
    """A field as a number; None for SCPI's not-a-number. Raises LinkError that names ``what``."""
    try:
        value = float(field)
    except ValueError:
        raise LinkError(f"the board's answer to {what} has {field!r} where a number belongs") from None
    return None if value != value or abs(value) >= NOT_A_NUMBER * 0.99 else value

"""Matches a header against the table: long and short forms, optional nodes (SCPI-1999 volume 1, chapter 6)."""

MNEMONIC_LIMIT = 12  # IEEE 488.2 7.6.1
IRREGULAR = {"TCOUPLE": "TC"}  # as SENSe:TEMPerature:TRANsducer:TCouple is written (from memory)


def nodes(pattern: str) -> list:
    """`SYSTem:ERRor[:NEXT]?` -> [(short, long, optional), ...]; the question mark is left to the caller."""
    found = []
    optional = False
    for part in pattern.rstrip("?").replace("[:", ":[").replace(":]", "]:").split(":"):
        if part.startswith("["):
            optional = True
        word = part.strip("[]")
        if word:
            short = "".join(letter for letter in word if not "a" <= letter <= "z")
            found.append((short, word.upper(), optional))
        if part.endswith("]"):
            optional = False
    return found


def matches(pattern_nodes, words) -> bool:
    """True when the words, upper case, are a way to write the pattern."""
    return _match(pattern_nodes, 0, words, 0)


def _match(pattern_nodes, at, words, word_at) -> bool:
    if at == len(pattern_nodes):
        return word_at == len(words)
    short, full, optional = pattern_nodes[at]
    if word_at < len(words) and words[word_at] in (short, full) and _match(pattern_nodes, at + 1, words, word_at + 1):
        return True
    return optional and _match(pattern_nodes, at + 1, words, word_at)


def short_form(word: str) -> str:
    """The short form by the rule of SCPI-1999 volume 1, 6.2.1: four letters, or three where the fourth is a vowel."""
    if len(word) <= 4:
        return word
    if word in IRREGULAR:
        return IRREGULAR[word]
    return word[:3] if word[3] in "AEIOU" else word[:4]


def short_spellings(pattern: str) -> list:
    """Every way to write a pattern in short forms: `OUTPut[:STATe]?` -> ["OUTP?", "OUTP:STAT?"]."""
    spellings = [""]
    for short, _, optional in nodes(pattern):
        longer = [(before + ":" if before else "") + short for before in spellings]
        spellings = spellings + longer if optional else longer
    ending = "?" if pattern.endswith("?") else ""
    return [spelling + ending for spelling in spellings]

"""The parser of the command line: what it does not know, it holds against what it knows."""

import argparse
import re
from collections.abc import Iterator
from typing import Any, NoReturn

# As argparse says it; the quotes inside the brackets went with Python 3.12.
INVALID_CHOICE = re.compile(r"argument ([^:]+): invalid choice: '(.*)' \(choose from (.*)\)$", re.DOTALL)
UNKNOWN = re.compile(r"unrecognized arguments: (.*)$", re.DOTALL)


class Parser(argparse.ArgumentParser):
    """As argparse's own, but options may stand anywhere between what is named, and what is not there gets a guess at what was
    meant: a command, a choice, an option."""

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self._positionals.title = "what to name"
        for action in self._actions:
            if action.dest == "help":
                action.help = "show this, and end"
        self._in_second_pass = False

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """Options may stand anywhere: of 'METHOD --force FILE' argparse alone, before Python 3.13, leaves FILE over."""
        if self._in_second_pass or not self._can_be_mixed():
            return super().parse_known_args(args, namespace)
        self._in_second_pass = True  # it calls back here
        try:
            return self.parse_known_intermixed_args(args, namespace)
        finally:
            self._in_second_pass = False

    def _can_be_mixed(self) -> bool:
        """Whether argparse takes them so: neither for a command of commands nor for a name that excludes an option."""
        named = [action for action in self._get_positional_actions() if action.nargs in (argparse.PARSER, argparse.REMAINDER)]
        exclusive = [action for group in self._mutually_exclusive_groups for action in group._group_actions]
        return not named and all(action.option_strings for action in exclusive)

    def error(self, message: str) -> NoReturn:
        """Shows usage and error, and ends with status 2."""
        super().error(self._with_guess(message))

    def _with_guess(self, message: str) -> str:
        from panchime.terminal.near_words import did_you_mean

        choice = INVALID_CHOICE.match(message)
        if choice is not None:
            known = [word.strip("'") for word in choice[3].split(", ")]
            return f"{choice[1]}: there is no {choice[2]!r}; there is: {', '.join(known)}{did_you_mean(choice[2], known)}"
        unknown = UNKNOWN.match(message)
        if unknown is not None:
            word = unknown[1].split()[0]
            options = set(options_of(self))
            if word in options:
                return f"{word} belongs to another command; what this one takes is shown by its own --help"
            guess = did_you_mean(word, options) if word.startswith("-") else ""
            return f"not known or too many: {unknown[1]}{guess}"
        return message


def options_of(parser: argparse.ArgumentParser) -> Iterator[str]:
    """The long options of a parser and of its commands."""
    for action in parser._actions:
        yield from (option for option in action.option_strings if option.startswith("--"))
        if isinstance(action, argparse._SubParsersAction):
            for command in action.choices.values():
                yield from options_of(command)

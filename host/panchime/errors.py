"""What went wrong, where, and the way out: the errors a person is meant to read."""


class PanchimeError(Exception):
    """An error for the person at the keyboard: one sentence that names the rule, the place and the way out."""


class LinkError(PanchimeError):
    """The board could not be reached, or stopped answering in the middle."""


class BoardRefusal(PanchimeError):
    """The board took the message and answered with an error of its own.

    ``number`` is the SCPI error number, ``words`` what the board said.
    """

    def __init__(self, message: str, number: int, words: str) -> None:
        super().__init__(message)
        self.number = number
        self.words = words

"""An integer that refuses to leave the board's small integers, for the proof that no intermediate value does."""

LIMIT = 2**30


class TooLarge(AssertionError):
    pass


class SmallInteger(int):
    """Every operation on it gives another one, and raises TooLarge when the result is 2**30 or more in magnitude."""

    largest = 0

    def __new__(cls, value):
        if abs(value) >= LIMIT:
            raise TooLarge(f"{int(value)} is no small integer")
        SmallInteger.largest = max(SmallInteger.largest, abs(int(value)))
        return super().__new__(cls, value)


def _checked(operation):
    def method(self, *others):
        result = getattr(int, operation)(self, *others)
        return result if result is NotImplemented else SmallInteger(result)

    return method


for _name in ("add", "sub", "mul", "floordiv", "mod", "lshift", "rshift", "and", "or", "xor"):
    setattr(SmallInteger, f"__{_name}__", _checked(f"__{_name}__"))
    setattr(SmallInteger, f"__r{_name}__", _checked(f"__r{_name}__"))
for _name in ("neg", "pos", "abs", "invert"):
    setattr(SmallInteger, f"__{_name}__", _checked(f"__{_name}__"))


def small(values):
    """A sequence of small integers, in place of a bytearray, an array or a tuple."""
    return [SmallInteger(value) for value in values]

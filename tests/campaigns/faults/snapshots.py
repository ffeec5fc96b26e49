"""A running bench as bytes, so that a hundred faults can start from one roast: the same object graph, nothing rebuilt.

Nested functions of the firmware (the log's head) are kept by reference; everything else is copied whole.
"""

import io
import pickle
from types import FunctionType
from typing import Any

_functions: list[FunctionType] = []


class _Pickler(pickle.Pickler):
    def persistent_id(self, obj: Any) -> Any:
        if isinstance(obj, FunctionType) and "<locals>" in obj.__qualname__:
            if obj not in _functions:
                _functions.append(obj)
            return _functions.index(obj)
        return None

    def reducer_override(self, obj: Any) -> Any:
        if isinstance(obj, memoryview):
            return memoryview, (obj.obj,)
        return NotImplemented


class _Unpickler(pickle.Unpickler):
    def persistent_load(self, pid: Any) -> Any:
        return _functions[pid]


def take(bench: Any) -> bytes:
    kept = io.BytesIO()
    _Pickler(kept, pickle.HIGHEST_PROTOCOL).dump(bench)
    return kept.getvalue()


def restore(kept: bytes) -> Any:
    return _Unpickler(io.BytesIO(kept)).load()

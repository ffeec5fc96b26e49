"""The board's side of Panchime. The host imports the same modules."""

__version__ = "0.1.0"

import gc

# Reading the modules leaves much rubbish between what stays. Cleared often, it leaves room in one piece for the log's buffers;
# cleared only when the heap is full, it does not. CPython has no such function.
if hasattr(gc, "threshold"):
    gc.threshold(16384)

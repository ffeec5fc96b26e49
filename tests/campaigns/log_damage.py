"""Damages a log in every way storage and copying do, and counts readings that were never taken.

Run as a script it does so 100,000 times: python tests/campaigns/log_damage.py [how many] [seed]
"""

import random
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
for folder in (ROOT / "firmware", ROOT / "tests" / "cases"):
    if str(folder) not in sys.path:
        sys.path.insert(0, str(folder))

import long_roast  # noqa: E402  # after the paths

from panchime_fw import events, logformat, logreader  # noqa: E402

SECONDS = 90


def whole_log() -> bytes:
    """The first minute and a half of the long roast, with its end."""
    raw, seed = logformat.head_bytes(long_roast.HEAD)
    encoder = logformat.Encoder()
    happens = list(long_roast.HAPPENS)
    t_ms = 0
    for t_ms, temperature_centi, cold_centi in long_roast.samples(0.1, 25):
        if t_ms > SECONDS * 1000:
            break
        encoder.sample(t_ms, temperature_centi, cold_centi)
        while happens and happens[0][0] <= t_ms:
            encoder.event(*happens.pop(0))
        if encoder.full:
            encoder.finish()
    encoder.finish()
    raw += b"".join(bytes(encoder.chunk(index, seed)) for index in range(encoder.finished))
    return raw + logformat.end_bytes(t_ms, events.DONE, logformat.crc32(raw), seed)


def mutate(raw: bytes, chance: random.Random) -> bytes:
    """One to three damages: flipped bits, overwritten, lost, repeated, inserted, erased or zeroed stretches, a torn end."""
    for _ in range(chance.randint(1, 3)):
        if not raw:
            return raw
        at = chance.randrange(len(raw))
        length = min(chance.choice((1, 2, 4, 16, 64, 256)), len(raw) - at)
        pick = chance.randrange(8)
        if pick == 0:
            raw = raw[:at] + bytes([raw[at] ^ (1 << chance.randrange(8))]) + raw[at + 1 :]
        elif pick == 1:
            raw = raw[:at] + chance.randbytes(length) + raw[at + length :]
        elif pick == 2:
            raw = raw[:at] + raw[at + length :]
        elif pick == 3:
            raw = raw[: at + length] + raw[at:]
        elif pick == 4:
            raw = raw[:at] + chance.randbytes(length) + raw[at:]
        elif pick == 5:
            raw = raw[:at] + b"\xff" * length + raw[at + length :]
        elif pick == 6:
            raw = raw[:at] + b"\x00" * length + raw[at + length :]
        else:
            raw = raw[:at]
    return raw


def count_of_damage(good: logreader.Log, log: logreader.Log) -> int:
    """How many of the samples in `log` are not among those of `good`: readings that nobody ever took."""
    taken = set(zip(good.t_ms, good.temperature_centi, strict=True))
    return sum(sample not in taken for sample in zip(log.t_ms, log.temperature_centi, strict=True))


def main() -> int:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 20261125
    chance = random.Random(seed)
    whole = whole_log()
    good = logreader.decode(whole)
    invented = kept = damaged = 0
    for _ in range(count):
        log = logreader.decode(mutate(whole, chance))
        invented += count_of_damage(good, log)
        kept += len(log.t_ms)
        damaged += bool(log.problems)
    share = 100 * kept / (count * len(good.t_ms))
    print(f"{count} mutations, seed {seed}: {damaged} noticed, {share:.1f} % of the samples kept, {invented} invented")
    return 1 if invented else 0


if __name__ == "__main__":
    sys.exit(main())

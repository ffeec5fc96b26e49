"""Error queue and registers. Bits of *ESR by error class, first in first out, -350 on overflow: SCPI-1999 21.8."""

from panchime_fw.scpi import errors, status


def check_class(number, bit):
    found = status.Status()
    found.read_event_status()
    found.add_error(number)
    assert found.read_event_status() == bit
    assert found.read_event_status() == 0


def check_text(number, detail, answer):
    found = status.Status()
    found.add_error(number, detail)
    assert found.next_error() == answer, found.next_error()
    assert found.next_error() == '0,"No error"'


def check_overflow(count, kept, last):
    found = status.Status()
    for index in range(count):
        found.add_error(errors.UNDEFINED_HEADER, str(index))
    assert found.error_count() == kept
    answers = [found.next_error() for _ in range(kept)]
    assert answers[0] == '-113,"Undefined header;0"'
    assert answers[-1].startswith(last), answers[-1]


def check_summary(service_enable, event_enable, value):
    found = status.Status()
    found.read_event_status()
    found.service_enable = service_enable
    found.event_enable = event_enable
    found.add_error(errors.UNDEFINED_HEADER)
    assert found.status_byte() == value, found.status_byte()


def check_register(conditions, event):
    register = status.Register()
    for value in conditions:
        register.set_condition(value)
    assert register.read_event() == event
    assert register.read_event() == 0


TABLES = {
    "classes": (check_class, [(-113, 32), (-222, 16), (-310, 8), (-350, 8), (-410, 4)]),
    "texts": (
        check_text,
        [
            (-113, "", '-113,"Undefined header"'), (-113, "FOO", '-113,"Undefined header;FOO"'),
            (-224, 'say "x"', '-224,"Illegal parameter value;say ""x"""'), (-363, "", '-363,"Input buffer overrun"'),
        ],
    ),
    "overflow": (
        check_overflow, [(20, 20, '-113,"Undefined header;19"'), (21, 20, '-350,"Queue overflow"'), (99, 20, '-350,')],
    ),
    "status byte": (check_summary, [(0, 0, 4), (4, 0, 4 + 64), (32, 32, 4 + 32 + 64), (32, 0, 4), (0, 32, 4 + 32)]),
    "registers latch what rises": (check_register, [([16], 16), ([16, 0], 16), ([16, 0, 1], 17), ([0, 0], 0), ([16, 16], 16)]),
}  # fmt: skip

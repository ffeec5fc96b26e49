"""Which board this is, a person's own pins, and the two ways to drive the relay."""

from panchime_fw import own_pins, pins, relay_drive

# MicroPython 1.29, ports/rp2 and ports/esp32, boards/*/mpconfigboard.h; before April 2026 the chips' names had no hyphen.
STRINGS = [
    ("rp2", "Raspberry Pi Pico with RP2040", "pico"),
    ("rp2", "Raspberry Pi Pico W with RP2040", "pico-w"),
    ("rp2", "Raspberry Pi Pico2 with RP2350", "pico-2"),
    ("rp2", "Raspberry Pi Pico2 with RP2350-RISCV", "pico-2"),
    ("rp2", "Raspberry Pi Pico 2 W with RP2350", "pico-2-w"),
    ("esp32", "Generic ESP32 module with ESP32", "esp32"),
    ("esp32", "Generic ESP32 module with SPIRAM with ESP32", "esp32"),
    ("esp32", "Generic ESP32S3 module with ESP32-S3", "esp32-s3"),
    ("esp32", "Generic ESP32S3 module with ESP32S3", "esp32-s3"),
    ("esp32", "Generic ESP32S3 module with Octal-SPIRAM with ESP32-S3", "esp32-s3"),
    ("esp32", "ESP32C3 module with ESP32-C3", "esp32-c3"),
    ("esp32", "ESP32C3 module with ESP32C3", "esp32-c3"),
    ("linux", "linux [GCC 12.2.0] version", "pico"),
    ("win32", "", "pico"),
    ("rp2", "Adafruit Feather RP2040 with RP2040", ""),
    ("rp2", "Raspberry Pi Pico 3 with RP2450", ""),
    ("rp2", "Pimoroni Pico LiPo 16MB with RP2040", ""),
    ("esp32", "ESP32S2 module with ESP32S2", ""),
    ("samd", "SAMD21 board with SAMD21", ""),
    ("esp32", "", ""),
]


def part(board="pico", **moved):
    moved["board"] = board
    return moved


def check_board(platform, machine, name):
    assert own_pins.board_of(platform, machine) == name, own_pins.board_of(platform, machine)


def check_good(own):
    assert own_pins.check(own) == [], own_pins.check(own)
    merged = own_pins.map_of(own["board"], own)
    for role in own:
        assert merged[role] == own[role]
    assert merged["relay"] == pins.MAPS[own["board"]]["relay"]


def check_refused(own, words):
    faults = own_pins.check(own)
    assert faults and words in faults[0], faults


def check_of_another_board():
    assert own_pins.map_of("esp32", part("pico", piezo=15)) == pins.MAPS["esp32"]


class Pin:
    def __init__(self):
        self.level = 0
        self.edges = 0
        self.stuck = -1

    def value(self, level=None):
        if level is None:
            return self.level if self.stuck < 0 else self.stuck
        if level != self.level:
            self.edges += 1
        self.level = level
        return None


def check_level():
    pin = Pin()
    drive = relay_drive.drive_of(relay_drive.LEVEL, pin)
    drive.order(True, 0)
    drive.step(5)
    assert drive.is_closed() and pin.edges == 1
    drive.order(False, 10)
    assert not drive.is_closed() and pin.level == 0


def check_moving():
    pin = Pin()
    drive = relay_drive.drive_of(relay_drive.MOVING, pin)
    drive.step(0)
    assert pin.edges == 0, "moves without an order"
    drive.order(True, 0)
    for now_ms in range(0, 1000, 5):
        drive.step(now_ms)
        assert drive.is_closed()
    assert pin.edges == 200, pin.edges
    drive.order(False, 1000)
    assert pin.level == 0 and not drive.is_closed()
    before = pin.edges
    drive.step(1005)
    assert pin.edges == before, "moves after the order to open"


def check_moving_stops_without_new_orders():
    pin = Pin()
    drive = relay_drive.drive_of(relay_drive.MOVING, pin)
    drive.order(True, 0)
    for now_ms in range(0, relay_drive.ORDER_MS + 200, 5):
        drive.step(now_ms)
    before = pin.edges
    for now_ms in range(relay_drive.ORDER_MS + 200, relay_drive.ORDER_MS + 1000, 5):
        drive.step(now_ms)
    assert pin.edges == before and pin.level == 0


def check_moving_tells_a_pin_that_does_not_obey(stuck):
    pin = Pin()
    drive = relay_drive.drive_of(relay_drive.MOVING, pin)
    drive.order(True, 0)
    pin.stuck = stuck
    seen = []
    for now_ms in (5, 10):
        drive.step(now_ms)
        seen.append(drive.is_closed())
    assert False in seen, seen


TABLES = {
    "board": (check_board, STRINGS),
    "good": (
        check_good,
        [
            (part(piezo=15),),
            (part(led=22, button=21),),
            (part(spi_id=1, spi_sck=10, spi_mosi=11, spi_miso=12, spi_cs=9, led_red=-1, led_green=-1, led_blue=-1),),
            (part(led_red=0),),
            (part("pico-w", led="LED"),),
            (part("esp32", spi_miso=35),),
            (part("esp32", led=2),),
            (part("esp32-c3", piezo=10, spi_cs=3 + 1),),
        ],
    ),
    "refused": (
        check_refused,
        [
            ([], "'board' must be one of"),
            ({}, "'board' must be one of"),
            (part("toaster"), "'board' must be one of"),
            ({"board": ["pico"]}, "'board' must be one of"),
            (part(relay=22), "the relay's pin cannot be moved"),
            (part(buzzer=3), "'buzzer' is not a role"),
            (part(piezo=23), "piezo cannot be pin 23"),
            (part(piezo=True), "piezo cannot be pin True"),
            (part(piezo="20"), "piezo cannot be pin 20"),
            (part(piezo=14), "pin 14 is relay and piezo at once"),
            (part(button=18), "pin 18 is button and spi_sck at once"),
            (part(button=4), "pin 4 is button and i2c_sda at once"),
            (part(spi_sck=19), "spi_sck cannot be pin 19; it may be: 2, 6, 18, 22"),
            (part(spi_id=1), "spi_miso cannot be pin 16"),
            (part(led=-1), "led cannot be pin -1"),
            (part(button=12), "pin 12 is button and led_blue at once"),
            (part(spi_id=2), "there is no bus 2"),
            (part(spi_cs=15), "spi_cs cannot be pin 15"),
            (part("pico-w", led=25), "led cannot be pin 25"),
            (part("esp32", button=34), "button cannot be pin 34"),
            (part("esp32", piezo=12), "piezo cannot be pin 12"),
            (part("esp32-s3", piezo=20), "piezo cannot be pin 20"),
            (part("esp32-c3", button=9), "button cannot be pin 9"),
        ],
    ),
    "of another board": (check_of_another_board, [()]),
    "level": (check_level, [()]),
    "moving": (check_moving, [()]),
    "moving without new orders": (check_moving_stops_without_new_orders, [()]),
    "moving and stuck": (check_moving_tells_a_pin_that_does_not_obey, [(0,), (1,)]),
}

"""A tiny firmware for the tests of the virtual board: one letter a command, the same machine calls as the real one."""

import os
import select
import sys
import time

import machine

relay = machine.Pin(14, machine.Pin.OUT, value=0)
button = machine.Pin(13, machine.Pin.IN, machine.Pin.PULL_UP)
cs = machine.Pin(17, machine.Pin.OUT, value=1)
spi = machine.SPI(
    0,
    baudrate=1000000,
    polarity=0,
    phase=0,
    sck=machine.Pin(18),
    mosi=machine.Pin(19),
    miso=machine.Pin(16),
)
piezo = machine.PWM(machine.Pin(20))
poll = select.poll()
poll.register(sys.stdin, select.POLLIN)
frame = bytearray(4)
watchdog = None
stop = False
was_down = False
due = time.ticks_ms()


def say(text):
    sys.stdout.buffer.write(text.encode() + b"\n")


def obey(letter):
    global watchdog
    if letter == "r":
        relay.value(1)
    elif letter == "o":
        relay.value(0)
    elif letter == "t":
        piezo.freq(2000)
        piezo.duty_u16(32768)
    elif letter == "f":
        say("frame " + "".join(f"{byte:02x}" for byte in frame))
    elif letter == "k":
        say(f"ticks {time.ticks_ms()}")
    elif letter == "c":
        say(f"cause {machine.reset_cause()}")
    elif letter == "d":
        say(f"date {machine.RTC().datetime()}")
    elif letter == "s":
        machine.RTC().datetime((2026, 11, 25, 2, 8, 30, 0, 0))
    elif letter == "w":
        watchdog = machine.WDT(timeout=2000)
    elif letter == "x":
        watchdog = None  # never fed again
    elif letter == "h":
        while True:
            pass
    elif letter == "R":
        machine.reset()
    elif letter == "l":
        with open("log.txt", "a") as file:
            file.write("sealed\n")
            file.flush()
    elif letter == "n":
        say(f"log {log_lines()}")
    elif letter == "e":
        before = time.ticks_ms()
        with open("big.bin", "wb") as file:
            file.write(bytes(9000))
        say(f"took {time.ticks_diff(time.ticks_ms(), before)}")
    elif letter == "p":
        say("y" * 20000)
    elif letter == "i":
        say("id " + "".join(f"{byte:02X}" for byte in machine.unique_id()))
    else:
        return
    say("ok " + letter)


def log_lines():
    if "log.txt" not in os.listdir():
        return 0
    with open("log.txt") as file:
        return len(file.read().split())


try:
    while True:
        now = time.ticks_ms()
        if time.ticks_diff(now, due) >= 0:
            due = time.ticks_add(due, 250)
            cs.value(0)
            spi.readinto(frame)
            cs.value(1)
            if watchdog is not None:
                watchdog.feed()
        down = button.value() == 0
        if down and not was_down:
            relay.value(1)
        was_down = down
        if poll.poll(0):
            obey(sys.stdin.read(1))
        time.sleep_ms(4)
finally:
    relay.value(0)

"""What every decoder offers, and what it says about the bus, so that the board's module needs to know no chip."""

from panchime_fw import faults
from panchime_fw.amplifier.reading import COLD_UNKNOWN, Reading


class Decoder:
    """A chip's decoder. Frames are a bytearray of FRAME_BYTES; a failed bus is told as a frame of nothing but 0xFF.

    SPI: clock SPI_POLARITY and SPI_PHASE. A frame is FRAME_BYTES read with the chip selected, zeros written
    meanwhile. I2C: the chip answers at one of I2C_ADDRESSES, at I2C_HZ at most. A frame is put together by READS,
    each (register, offset, length): that register's bytes go to that place of the frame. setup: (register, bytes)
    pairs written once, and again after AMPLIFIER_RESET; on SPI the register is the first byte of the message. The
    first reading is there FIRST_READING_MS later, then a new one every CONVERSION_MS: frames must not be read faster.
    """

    name = ""
    BUS = "spi"
    SPI_POLARITY = 0
    SPI_PHASE = 0
    I2C_HZ = 100000
    I2C_ADDRESSES: tuple[int, ...] = ()
    READS: tuple[tuple[int, int, int], ...] = ()
    FRAME_BYTES = 0
    # SPI: how many bytes to read at start-up to tell this chip from one whose frames could pass for its own; 0: no need.
    LOOK_BYTES = 0
    FIRST_READING_MS = 0
    CONVERSION_MS = 0
    setup: tuple[tuple[int, bytes], ...] = ()

    def identify(self, raw: "bytes | bytearray") -> int:
        """Judges a frame without regard to the probe: NONE, AMPLIFIER_ABSENT, WRONG_CHIP or AMPLIFIER_RESET."""
        return faults.AMPLIFIER_ABSENT

    def looks_alien(self, look: "bytes | bytearray") -> bool:
        """True when LOOK_BYTES read in one go look like another chip, although `identify` finds nothing wrong."""
        return False

    def decode(self, raw: "bytes | bytearray", reading: Reading) -> None:
        """Fills reading from a frame. Judges all of it, never raises, allocates nothing."""
        reading.fail(faults.AMPLIFIER_ABSENT, COLD_UNKNOWN)

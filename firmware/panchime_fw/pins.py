"""Which pin does what on a Pico (GP numbers). GP15 is left free: early RP2040 borrow it at a USB reset (erratum E5)."""

RELAY = 14
PIEZO = 20
BUTTON = 13
LED = 25
# A light of three colours, common cathode, a resistor each; where none is wired nothing is lost.
LED_RED = 10
LED_GREEN = 11
LED_BLUE = 12
SPI_ID = 0
SPI_SCK = 18
SPI_MOSI = 19
SPI_MISO = 16
SPI_CS = 17
I2C_ID = 0
I2C_SDA = 4
I2C_SCL = 5

from machine import Pin

Pin(14, Pin.OUT, value=0)
print("tiny boot")

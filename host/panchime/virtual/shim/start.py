# Run by MicroPython with -i: power the board up, then fall through to the prompt. The mark tells the host that the prompt is
# next. No docstring and few names: what is left here is what a person finds at the prompt.
try:
    import power_up

    power_up.power_up(globals())
except KeyboardInterrupt:
    pass
while True:
    try:
        power_up.prompt_next()
        break
    except KeyboardInterrupt:
        pass

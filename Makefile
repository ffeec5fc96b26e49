# The tasks themselves are in tasks.py, so that Windows has the same ones without make.
PYTHON ?= python3

demo test check lock bench campaign-faults campaign-power:
	@$(PYTHON) -m tasks $@ $(ARGS)

.PHONY: demo test check lock bench campaign-faults campaign-power

# The tasks themselves are in tasks.py, so that Windows has the same ones without make.
PYTHON ?= python3

demo test check lock wiring bench campaign-faults campaign-power campaign-link-drops campaign-pull-kill:
	@$(PYTHON) -m tasks $@ $(ARGS)

.PHONY: demo test check lock wiring bench campaign-faults campaign-power campaign-link-drops campaign-pull-kill

PYTHON ?= python3

.PHONY: tour test bench soak

tour:
	$(PYTHON) run.py tour

test:
	$(PYTHON) run.py test

bench:
	$(PYTHON) run.py bench

soak:
	$(PYTHON) run.py soak

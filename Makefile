PYTHON ?= python3

.PHONY: tour test bench

tour:
	$(PYTHON) run.py tour

test:
	$(PYTHON) run.py test

bench:
	$(PYTHON) run.py bench

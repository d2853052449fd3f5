# leafset's two commands are `make build` and `make test`; `make help` lists the rest.
# Paths are relative throughout, so that a folder name with spaces does no harm.

PYTHON ?= python3
SEASON ?= seasons/2027-spring.toml
MINUTES ?= 10
RUN := .venv/bin/python -m pipeline.cli

# What Python compiles is kept: a build and the tests start it hundreds of times.
unexport PYTHONDONTWRITEBYTECODE

.PHONY: help build proof check desk watch test golden versions sweep lint clean bench release attack

help:
	@echo "make build    print files of a season into build/   (SEASON=$(SEASON))"
	@echo "make proof    pictures of what those files will print"
	@echo "make check    look for mistakes in those files"
	@echo "make desk     the whole job in the browser: plan, draw, look, pass, release"
	@echo "make watch    see them while you draw: every save shows in the browser"
	@echo "make release  bundles for buyers, of the sets that are passed for press"
	@echo "make test     all tests"
	@echo "make golden   take today's pictures as the expected ones"
	@echo "make bench    what a set costs, our way and others'"
	@echo "make versions  tests with the oldest and newest libraries allowed"
	@echo "make sweep    the widest tests: eight years, every language and size; an hour and more"
	@echo "make attack   kills, power cuts, spoilt files and crowds (MINUTES=$(MINUTES))"
	@echo "make lint     style, types, imports, dependencies and browser scripts"
	@echo "make clean    remove what was made and the virtual environment"

# The environment is made once, and again only when the pinned versions change.
.venv/ready: requirements.txt pyproject.toml
	@$(PYTHON) pipeline/base/system.py
	@test -x .venv/bin/python || $(PYTHON) -m venv .venv
	.venv/bin/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements.txt
	.venv/bin/python -m pip install --quiet --disable-pip-version-check --no-deps --editable .
	@touch .venv/ready

build: .venv/ready
	@$(RUN) build "$(SEASON)"

proof: .venv/ready
	@$(RUN) proof "$(SEASON)"

check: .venv/ready
	@$(RUN) check "$(SEASON)"

desk: .venv/ready
	@$(RUN) desk

watch: .venv/ready
	@$(RUN) watch "$(SEASON)"

release: build
	@$(RUN) release "$(SEASON)" || [ $$? -eq 1 ]  # 1: some are held back

test: .venv/ready
	@.venv/bin/python -m pytest --numprocesses auto --dist loadfile --no-loadscope-reorder

golden: .venv/ready
	@.venv/bin/python -m pytest --renew-golden

bench: .venv/ready
	@.venv/bin/python -m tests.bench.bench $(QUICK)

versions: .venv/ready
	@.venv/bin/python -m tests.versions

sweep: .venv/ready
	@.venv/bin/python -m pytest --wide --numprocesses auto --dist load
	@.venv/bin/python -m tests.sweep

attack: .venv/ready
	@.venv/bin/python -m tests.attack.attack --minutes $(MINUTES)

lint: .venv/ready
	.venv/bin/python -m ruff check .
	.venv/bin/python -m ruff format --check .
	.venv/bin/python -m mypy
	.venv/bin/lint-imports
	.venv/bin/python -m deptry .
	.venv/bin/biome ci pipeline/desk/static pipeline/workshop/static

clean:
	rm -rf .venv build/*

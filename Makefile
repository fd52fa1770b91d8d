# The one door: everything that is done with this program is a target here.
# Each target sets up what it needs and, where all is there, loses no time on it.

# Debian's own Python is compiled for speed; one that was compiled by hand often is not, and takes a
# tenth to a third more time for everything.
PYTHON ?= $(shell /usr/bin/python3 -c 'import ensurepip, sys; assert sys.version_info >= (3, 11); \
	print(sys.executable)' 2>/dev/null || echo python3)
PORT ?= 8000
ADDRESS ?= 127.0.0.1
BOOKS ?= 5000
PAPERS_IN ?= var/papers
BIN := .venv/bin
DEMO := STUDIO_DATA=var/demo STUDIO_DEMO=yes DATABASE_URL=
CHECKS := STUDIO_DATA=var/check DATABASE_URL=
PYTEST := $(BIN)/pytest -n 2 --dist worksteal --durations 10
POSTGRES := $(BIN)/python -m tests.postgres
# A leap day; New Year's Eve before and New Year's Day after midnight; before the clock leaps forward
# and in the hour that comes twice; the end of a month that is still the 30th in UTC.
DAYS ?= 2028-02-29T10:30+00:00 2026-12-31T23:45+00:00 2027-01-01T00:15+00:00 \
	2026-03-29T00:45+00:00 2026-10-25T01:15+00:00 2026-08-31T00:15+01:00

# Some machines tell Python to throw away what it compiled. Here many processes start one after the
# other, and each would compile everything anew.
export PYTHONDONTWRITEBYTECODE :=

.DEFAULT_GOAL := help
.PHONY: help demo run set-up set-up-dev test check test-sqlite test-thorough test-postgres \
	test-postgres-all \
	statements test-dates bench torture test-deploy keep-state papers check-planner format audit lock

help: ## Show this list
	@awk -F ':.*## ' '/^[a-z-]+:.*## / { printf "  make %-17s %s\n", $$1, $$2 }' $(MAKEFILE_LIST)

demo: set-up ## Open Larkfield Sewing Room, the invented studio, on this machine
	@$(DEMO) $(BIN)/python manage.py upgrade
	@$(DEMO) $(BIN)/python manage.py demo
	@$(DEMO) $(BIN)/python manage.py serve --address $(ADDRESS) --port $(PORT)

run: set-up ## Open your own studio; its data live in var/studio (PORT and ADDRESS can be set)
	@$(BIN)/python manage.py serve --address $(ADDRESS) --port $(PORT)

# Beside each other, so that one goes on while another waits for a browser or a server; each says
# what it has to say when it ends.
test: set-up-dev ## Check, test on SQLite, and on PostgreSQL what can differ there
	@$(MAKE) --no-print-directory --jobs 2 $(if $(filter output-sync,$(.FEATURES)),--output-sync) \
		test-sqlite check test-postgres

check: set-up-dev ## Format, lint, types, the rooms' order, missing migrations
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(CHECKS) $(BIN)/mypy studio clients jobs fixtures
	$(BIN)/lint-imports
	$(CHECKS) $(BIN)/python manage.py makemigrations --check --dry-run

test-sqlite: set-up-dev ## Every test on SQLite, with those that drive a browser
	DATABASE_URL= $(PYTEST)

test-thorough: set-up-dev ## Every test on SQLite with all of its cases and rounds; make test leaves some out
	TESTS_THOROUGH=yes DATABASE_URL= $(PYTEST)

test-postgres: set-up-dev ## What a database can answer differently, on a PostgreSQL server of its own
	$(POSTGRES) $(PYTEST) -n 0 -m "postgres and not browser"

test-postgres-all: set-up-dev ## Every test on PostgreSQL, but for those that drive a browser
	$(POSTGRES) $(PYTEST) -m "not browser"

statements: set-up-dev ## Which statements no test puts to PostgreSQL, and which tests would
	PYTHONPATH=. DATABASE_URL= $(PYTEST) -p tests.statements -m "database and not browser"

test-dates: set-up-dev ## What may lean on the day, on days that are unlike others
	@for day in $(DAYS); do \
		echo "The studio opens at $$day"; \
		TESTS_AT=$$day DATABASE_URL= $(PYTEST) -m "dates and not browser and not any_day" || exit 1; \
	done

bench: set-up-dev ## Measure what has to stay quick as the studio grows
	DATABASE_URL= $(BIN)/pytest tests/bench/bench_*.py -p no:cacheprovider

torture: set-up-dev ## Kill, crowd and starve a studio and compare its book (SEED, KILLS, SECONDS, SCENES)
	@$(BIN)/python -m tests.torture $(SCENES)

test-deploy: set-up-dev ## Follow docs/deploy.md: PostgreSQL, a store for files, two processes
	$(BIN)/pytest tests/deploy/follow_deploy.py -p no:cacheprovider

keep-state: set-up-dev ## Keep a small studio as today's program has it, for later ones to bring up to date
	$(BIN)/python tests/upgrades/keep_state.py $$(git show -s --format=%cd_%h --date=format:%Y-%m-%d_%H%M) tests/upgrades/states

papers: set-up-dev ## Print every paper on every size with hard texts, check and picture them (PAPERS_IN)
	PAPERS_IN=$(PAPERS_IN) DATABASE_URL= $(BIN)/pytest tests/bench/every_paper.py -p no:cacheprovider

check-planner: set-up-dev ## Compare the planner with independent references (BOOKS can be set)
	$(BIN)/python -m tests.jobs.planning.core.check_planner $(BOOKS)

format: set-up-dev ## Put the code into the house's format
	$(BIN)/ruff format .
	$(BIN)/ruff check --fix .

audit: set-up-dev ## Whether a pinned package has a known vulnerability (asks OSV, at most 20 seconds)
	@$(BIN)/python .ci/audit.py

lock: set-up-dev ## Pin the newest allowed versions of all dependencies, with their hashes
	sh .ci/lock

set-up: ## Install what running needs (the other targets do it themselves)
	@$(PYTHON) .ci/set_up.py run

set-up-dev: ## Install what testing needs (likewise)
	@$(PYTHON) .ci/set_up.py dev

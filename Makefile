# make test     everything: what must pass before a change lands
# make quick    the inner loop, under half a minute: format, vet, the core's short tests
# make oracle   the planner against a slow search that shares nothing with it (an hour and more)
# make bench    the figures for speed
# make help     these lines
#
# It needs Go, git, make and a C compiler (for the race detector). Chromium and
# PostgreSQL are installed from Debian when they are not there and this runs as
# root; where that cannot be, what was not tested is said loudly at the end, and
# with CI=true it is a failure.

SHELL = /bin/bash
.SHELLFLAGS = -eu -o pipefail -c
.ONESHELL:
.DEFAULT_GOAL = help
.PHONY: help test quick need format vet lint tidy unit race fuzz oracle bench build

GO = go
TOOL = $(GO) tool -modfile=tools/go.mod
SOURCES = cmd internal examples
CORE = ./cmd/... ./internal/fault ./internal/strict ./internal/geom ./internal/plan ./internal/turnout ./internal/drive ./internal/taut ./internal/shape ./internal/rules ./internal/gates ./internal/archtest

# Tests of the planner that drive many hazards: `make unit` runs them, `make
# quick` does not.
MANY = Mirror|Random|NoRoute|Followed|Deterministic

# Seeds for each turnout in the oracle's comparison.
SEEDS = 20

help:
	@sed -n 's/^# \(make .*\)/\1/p' Makefile

# One after another, cheap things first; each says its name and its seconds.
test:
	@begun=$$SECONDS
	tools/need install
	for part in format vet tidy lint unit race fuzz; do
		echo "== $$part"
		from=$$SECONDS
		$(MAKE) --no-print-directory $$part
		echo "== $$part took $$((SECONDS - from)) s"
	done
	tools/need report
	echo "== all of it passed in $$((SECONDS - begun)) s"

quick: format
	@$(GO) vet $(CORE) ./internal/hazard
	$(GO) test -short $(CORE)
	$(GO) test -short -skip '$(MANY)' ./internal/hazard

need:
	@tools/need install

build:
	@$(GO) build -trimpath -o bin/terret ./cmd/terret

format:
	@ugly=$$(gofmt -l $(SOURCES))
	if [ -n "$$ugly" ]; then echo "not as gofmt writes it:"; echo "$$ugly"; exit 1; fi

vet:
	@$(GO) vet ./...

tidy:
	@$(GO) mod tidy -diff
	$(GO) mod verify >/dev/null

lint:
	@$(TOOL) staticcheck ./...
	$(TOOL) golangci-lint run

# All tests, the scripts of the command line and the layers among them.
unit:
	@$(GO) test ./...

# The race detector where there is concurrency, without the browser: see
# testkit.Browser.
race:
	@$(GO) test -race -short ./internal/store/... ./internal/web/... ./internal/trial/...

fuzz:
	@tools/fuzz

oracle:
	TERRET_ORACLE=$(SEEDS) $(GO) test -run '^TestOracle$$' -timeout 6h -v ./internal/hazard

bench:
	@$(GO) test -run '^$$' -bench . -benchmem ./internal/...

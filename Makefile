# Builds, runs and tests Kickover. `make run` and `make test` install the system
# packages they need; everything else is Go's own.

GO ?= go

# Without x11 the window toolkit wants Wayland's headers; migrated_fynedo says
# that all calls into the window go through its own goroutine.
ifeq ($(shell uname -s),Darwin)
TAGS := migrated_fynedo
else
TAGS := migrated_fynedo,x11
endif
export TAGS

.DEFAULT_GOAL := help
.PHONY: help run build test check race bench fuzz soak voice package clean

help: ## Say what can be made
	@sed -n 's/^\([a-z]*\):.*## /\1\t/p' $(MAKEFILE_LIST) | expand -t 10

run: ## Install what is needed, build, and open the window on the demo
	@.ci/setup build
	@$(MAKE) --no-print-directory build
	./bin/kickover demo

build: ## Build bin/kickover
	$(GO) build -tags $(TAGS) -o bin/kickover ./cmd/kickover

test: ## Install what is needed, and run every test, the window's too
	@.ci/setup build test
	.ci/test

check: ## Vet, look for faults and vulnerabilities, and read the licence of every module
	@.ci/setup build
	.ci/check

race: ## Run the tests of all that runs concurrently under the race detector
	@.ci/setup build test
	.ci/race

fuzz: ## Fuzz every parser and state machine, ten minutes each
	@.ci/setup build
	.ci/fuzz

soak: ## Drive the window again and again, and print memory, goroutines and files
	@.ci/setup build test
	.ci/soak

bench: ## Print the figures that the README states, with the machine: 95 minutes, or PARTS= of them
	@.ci/setup build test
	.ci/bench $(PARTS)

voice: ## Render the shipped clips again, after a change of the lines
	@.ci/setup build voice
	@mkdir -p bin
	$(GO) run ./cmd/shippedlines >bin/lines
	$(GO) run ./audio/speech/makevoice -out assets/voice bin/lines

package: ## Make bin/kickover_VERSION_ARCHITECTURE.deb; .ci/package tries it on a fresh Debian
	@.ci/setup build package
	.ci/deb

clean: ## Remove what was built here
	rm -rf bin

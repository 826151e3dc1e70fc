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
.PHONY: help run build test bench voice clean

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

bench: ## Print the figures that the README states, with the machine
	@.ci/setup build test
	.ci/bench

voice: ## Render the shipped clips again, after a change of the lines
	@.ci/setup build voice
	$(GO) run ./audio/speech/makevoice -out assets/voice

clean: ## Remove what was built here
	rm -rf bin

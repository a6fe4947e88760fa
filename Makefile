# make demo    set up, build, read the invented round under samples/demo, then serve an invented academy
# make demo-check   serve the invented academy and look at its first pages, without a browser
# make test    set up, then everything that must hold: format, lints, documentation, scripts, tests
# make bench   how fast; docs/benchmarks.md tells how to read it
# make bench-figures   the mathematics beside reference libraries on the same input (needs the network)
# make references   what reference libraries make of the figures' inputs, anew (needs the network)
# make evaluate   how well the sample rounds are read; docs/evaluation.md tells how to read it
# make learn   the decoder's settings anew; training/README.md trains the reader itself

SHELL := /bin/sh
.DELETE_ON_ERROR:
.PHONY: demo demo-check test bench bench-figures references evaluate learn pictures setup rust checkers

CARGO ?= cargo
TARGET := $(or $(CARGO_TARGET_DIR),target)
GRAPEVINE := $(TARGET)/release/grapevine
DEMO := samples/demo/round.vtt --between Maren:she Joaquim:he --length 3:40

demo: rust
	$(CARGO) build --release --locked -p grapevine
	@mkdir -p build
	@$(GRAPEVINE) read $(DEMO)
	@$(GRAPEVINE) read $(DEMO) --out svg > build/tide.svg
	@$(GRAPEVINE) read $(DEMO) --out html > build/round.html
	@echo
	@echo "The tide as a picture: build/tide.svg"
	@echo "The round as a page:   build/round.html"
	@echo
	@echo "The pages are open on this machine only. To let phones in: stop it with Ctrl-C,"
	@echo "then start: $(GRAPEVINE) serve --lan"
	@echo
	@$(GRAPEVINE) serve --book build/demo-book --port 7100

demo-check: rust
	@.ci/needs curl:curl
	$(CARGO) build --release --locked -p grapevine
	.ci/first-pages $(GRAPEVINE)

test: setup
	$(CARGO) fmt --all --check
	$(CARGO) clippy --workspace --all-targets --locked -- -D warnings
	RUSTDOCFLAGS="-D warnings" $(CARGO) doc --workspace --no-deps --document-private-items --locked
	npm run --silent check
	INSTA_UPDATE=no $(CARGO) test --workspace --locked

bench: rust
	$(CARGO) bench --workspace --locked

# The readings that engine/figures is tested against, which are recorded so that tests need no network.
# Made anew by the libraries themselves they must come out the same; takes a few minutes.
bench-figures: rust build/references/installed
	$(CARGO) bench -p figures --bench figures
	$(CARGO) bench -p figures --bench libraries -- $(CURDIR)/build/libraries
	build/references/bin/python engine/figures/benches/reference/same_input.py build/libraries

references: build/references/installed
	build/references/bin/python engine/figures/tests/reference/make_reference.py
	git diff --exit-code -- 'engine/figures/tests/reference/*.csv'

build/references/installed: engine/figures/tests/reference/requirements.txt
	@.ci/needs python3:python3
	@python3 -c 'import ensurepip' 2> /dev/null || .ci/needs python3-venv:python3-venv
	python3 -m venv build/references
	build/references/bin/pip install --quiet --requirement $<
	@# The one that irrCAC asks for is too old for comprisk.
	build/references/bin/pip install --quiet --upgrade coverage
	@touch $@

evaluate: rust
	$(CARGO) build --release --locked -p grapevine
	$(GRAPEVINE) evaluate samples/rounds

learn: rust
	@mkdir -p build
	$(CARGO) build --release --locked -p grapevine
	$(GRAPEVINE) learn samples/rounds > build/settings.json
	cp build/settings.json data/parameters/settings.json

# The pictures of the documentation, drawn by the program itself.
pictures: rust
	$(CARGO) build --release --locked -p grapevine
	$(GRAPEVINE) read $(DEMO) --out svg > docs/tide.svg

# What a fresh Debian may lack.
setup: rust checkers

# To build: a linker and two parts of the Rust tools.
rust:
	@command -v $(CARGO) > /dev/null || { \
	  echo "Rust is missing: install it as https://www.rust-lang.org/tools/install says"; exit 1; }
	@.ci/needs cc:gcc cc:libc6-dev
	@$(CARGO) fmt --version > /dev/null 2>&1 || rustup component add rustfmt
	@$(CARGO) clippy --version > /dev/null 2>&1 || rustup component add clippy

# To check the pages: a browser with its driver, and what package-lock.json lists.
checkers: node_modules/.package-lock.json
	@.ci/needs chromium:chromium chromedriver:chromium-driver

node_modules/.package-lock.json: package.json package-lock.json .npmrc
	@.ci/needs node:nodejs npm:npm
	npm ci
	@touch $@

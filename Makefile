# The toolchain is named here, in .ci/run and in go.mod: older ones have standard-library faults that this program can reach.
export GOTOOLCHAIN := go1.27.3

# Test binaries run beside each other, each with a database server of its own and some with a browser.
CORES := $(shell n=$$(nproc 2>/dev/null || echo 2); if [ $$n -gt 4 ]; then n=4; fi; echo $$n)
# The revision goes into the binary where git can tell it; elsewhere the build must not fail for it.
VCS   := $(shell git rev-parse HEAD >/dev/null 2>&1 && git status --porcelain >/dev/null 2>&1 && echo auto || echo false)
TOOL  := go tool -modfile=deploy/tools.mod

.PHONY: help build run test check generate bench compare load kill clean

help:
	@echo "make run       build and start, with the demonstration if the database is empty"
	@echo "make build     build bin/endcast"
	@echo "make test      run every test"
	@echo "make check     look for mistakes in style, generated files and dependencies"
	@echo "make generate  write the Go files of the templates anew"
	@echo "make bench     run the benchmarks"
	@echo "make compare   time the same checks in a spreadsheet (needs LibreOffice Calc)"
	@echo "make load      measure a server with a hundred thousand ends"
	@echo "make kill      kill the program and PostgreSQL during ten thousand edits"

build:
	@CGO_ENABLED=0 go build -trimpath -buildvcs=$(VCS) -o bin/endcast ./cmd/server

run:
	@deploy/need.sh postgresql chromium fonts
	@$(MAKE) --no-print-directory build
	@exec bin/endcast serve -demo-if-empty

test:
	@deploy/need.sh postgresql chromium fonts gcc
	@CGO_ENABLED=1 go test -race -timeout 40m -p $(CORES) ./...

check:
	@files=$$(gofmt -l cmd deploy internal migrations static views); [ -z "$$files" ] || { echo "gofmt is needed for:"; echo "$$files"; exit 1; }
	go vet ./...
	$(TOOL) staticcheck ./...
	@before=$$(find . -name '*_templ.go' | sort | xargs sha256sum); $(MAKE) --no-print-directory generate; \
	after=$$(find . -name '*_templ.go' | sort | xargs sha256sum); \
	[ "$$before" = "$$after" ] || { echo "the Go files of the templates were out of date; they are written anew"; exit 1; }
	@deploy/vulncheck.sh

generate:
	@go tool templ generate -log-level error

bench:
	@deploy/need.sh postgresql
	@go test -run '^$$' -bench . -benchmem ./...

compare:
	@go run ./deploy/compare

load:
	@deploy/need.sh postgresql
	@go test -tags load -run '^TestLoad$$' -v ./internal/web

kill:
	@deploy/need.sh postgresql
	@go test -tags kill -run '^TestKill$$' -timeout 2h -v ./cmd/server

clean:
	rm -rf bin

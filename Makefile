# On a fresh Debian with Go and make: `make demo`, then `make test`.

BIN := .bin
DEMO := curbfall-demo
DOMAIN := ./terrain/... ./routing/...
# Run by version and outside go.mod: a linter is no dependency of the program.
STATICCHECK := honnef.co/go/tools/cmd/staticcheck@v0.8.2

.PHONY: setup build demo test race bench lint image clean

setup:
	@.ci/setup

build: setup
	go build -o $(BIN)/curbfall ./cmd/curbfall

# An invented lot, designed and drawn; open $(DEMO)/report.html.
demo: build
	$(BIN)/curbfall demo --out $(DEMO) --overwrite

test: setup
	@unformatted=$$(gofmt -l cmd io routing terrain); \
	if [ -n "$$unformatted" ]; then echo "gofmt these: $$unformatted" >&2; exit 1; fi
	go vet ./...
	CGO_ENABLED=0 go build $(DOMAIN)
	go test ./...

# The detector is for the packages that share work between goroutines; all of
# the domain, since that is quick.
race: setup
	go test -race $(DOMAIN)

bench: setup
	go test -run '^$$' -bench . -benchmem $(DOMAIN)

lint: setup
	go vet ./...
	go run $(STATICCHECK) ./...
	@if command -v golangci-lint >/dev/null; then golangci-lint run; \
	else echo "lint: golangci-lint is not installed, .golangci.yml was not applied" >&2; fi

image:
	.ci/image

clean:
	rm -rf $(BIN) $(DEMO) .image

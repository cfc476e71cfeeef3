# On a fresh Debian with Go and make: `make demo`, then `make test`.

BIN := .bin
DEMO := curbfall-demo
DOMAIN := ./terrain/... ./routing/...
# Run by version and outside go.mod: a linter is no dependency of the program.
STATICCHECK := honnef.co/go/tools/cmd/staticcheck@v0.8.2
GOLANGCI := github.com/golangci/golangci-lint/v2/cmd/golangci-lint@v2.5.0

.PHONY: setup build demo test race bench lint image clean

setup:
	@.ci/setup

build: setup
	go build -o $(BIN)/curbfall ./cmd/curbfall

# An invented lot, designed; open $(DEMO)/review.geojson in a map viewer.
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

# The first run compiles the linters, some minutes.
lint: setup
	go run $(STATICCHECK) ./...
	go run $(GOLANGCI) run

# As root: the image of the Dockerfile without a registry.
image:
	.ci/image

clean:
	rm -rf $(BIN) $(DEMO) .image

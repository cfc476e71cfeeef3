module curbfall

go 1.26.3

require (
	github.com/airbusgeo/godal v0.0.18
	github.com/paulmach/orb v0.14.0
	github.com/rogpeppe/go-internal v1.16.0
	github.com/spf13/cobra v1.10.2
	github.com/spf13/pflag v1.0.9
	github.com/twpayne/go-geom v1.7.0
	go.yaml.in/yaml/v3 v3.0.6
)

require (
	github.com/inconshreveable/mousetrap v1.1.0 // indirect
	golang.org/x/sync v0.13.0 // indirect
	golang.org/x/sys v0.48.0 // indirect
	golang.org/x/tools v0.26.0 // indirect
)

# Two stages: Go and GDAL's headers to build, GDAL alone to run.
#   docker build -t curbfall . && docker run --rm -v "$PWD:/data" curbfall route --dem dem.tif --site site.geojson --out out
# Without a registry: make image.
FROM golang:1.26-bookworm AS build
RUN apt-get update \
 && DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends libgdal-dev pkg-config g++ \
 && rm -rf /var/lib/apt/lists/*
WORKDIR /src
COPY go.mod go.sum ./
RUN go mod download
COPY . .
RUN go build -trimpath -buildvcs=false -ldflags=-s -o /curbfall ./cmd/curbfall

FROM debian:bookworm-slim
RUN apt-get update \
 && DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends libgdal32 gdal-data proj-data ca-certificates \
 && rm -rf /var/lib/apt/lists/* \
 && useradd --create-home --uid 1000 curbfall
COPY --from=build /curbfall /usr/local/bin/curbfall
USER curbfall
WORKDIR /data
ENTRYPOINT ["curbfall"]

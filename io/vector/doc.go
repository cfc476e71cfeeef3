// Package vector reads the site's lines and writes the layers: GeoJSON by itself,
// so that no position and no system is guessed, other formats and the GeoPackage
// through GDAL.
package vector

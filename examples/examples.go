// Package examples is files to try the program with. All people, horses and places in
// them are invented.
package examples

import _ "embed"

// Rota is the jobs (rota/1) of the demo's driving day.
//
//go:embed hollowmere-rota.yaml
var Rota []byte

// Package routing turns ground and limits into a buildable pipe, in this reading order:
//
//   - constraint: the site, the limits, the pipe catalogue and the pipe's law
//   - profile: constant grades under the law
//   - network: nodes and pipes
//   - search: proven routes and the tree that joins them
//   - hydraulics: runoff and pipe flow
//   - design: the loop that repeats route, profile and size until diameters settle
//   - synth: house lots made from seeds, for tests alone
package routing

//go:build kill

package main

import (
	"flag"
	"slices"
	"testing"
	"time"
)

var (
	killTimes   = flag.Int("kill.times", 20, "how often each of the program and PostgreSQL is killed")
	killEdits   = flag.Int("kill.edits", 10_000, "edits in all")
	killClients = flag.Int("kill.clients", 20, "clients that edit at once")
)

// TestKill kills the program and PostgreSQL in turn during many edits and prints what it cost.
func TestKill(t *testing.T) {
	k := newKillRun(t, *killClients)
	began := time.Now()
	for range *killTimes {
		k.run(1, *killEdits / *killTimes / 2, k.killProgram)
		k.run(1, *killEdits / *killTimes / 2, k.killDatabase)
	}
	took := time.Since(began)
	slices.Sort(k.restart)
	t.Logf("%d edits acknowledged to %d clients in %s with all checks, %d requests; killed: %v", len(k.acked), len(k.tokens), took.Round(time.Second), k.sent, k.kills)
	t.Logf("%d edits were on record though their answer was lost, and were answered when sent again", k.repeated)
	t.Logf("from the kill until the server answered or was left to mend itself: median %s, longest %s", k.restart[len(k.restart)/2].Round(time.Millisecond), k.restart[len(k.restart)-1].Round(time.Millisecond))
}

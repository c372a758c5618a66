//go:build !kill

package main

import "testing"

// TestAcknowledgedEditsOutliveAKill is the small form of `make kill`.
func TestAcknowledgedEditsOutliveAKill(t *testing.T) {
	t.Parallel()
	k := newKillRun(t, 8)
	k.run(1, 60, k.killProgram)
	k.run(1, 60, k.killDatabase)
}

//go:build !linux

package dbtest

// freeSpace is 0 elsewhere: there is no folder that lives in memory.
func freeSpace(string) uint64 { return 0 }

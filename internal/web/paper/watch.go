package paper

import (
	"context"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"time"
)

// watch ends a browser that takes more memory than it may. Where the system does not
// tell how much that is, it does nothing.
type watch struct {
	limit int64
	over  func()
	pid   atomic.Int64 // of the browser; 0 until it runs
	most  atomic.Int64 // seen so far
}

func (w *watch) run(ctx context.Context) {
	tick := time.NewTicker(150 * time.Millisecond)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		pid := w.pid.Load()
		if pid == 0 {
			continue
		}
		held := memory(int(pid))
		w.most.Store(max(w.most.Load(), held))
		if held > w.limit {
			w.over()
			return
		}
	}
}

// memory is what a process and all its children hold, in bytes; memory that they share
// counts once.
func memory(root int) int64 {
	parents := map[int]int{}
	stats, _ := filepath.Glob("/proc/[0-9]*/stat")
	for _, name := range stats {
		data, err := os.ReadFile(name)
		if err != nil {
			continue
		}
		text := string(data)
		rest := strings.Fields(text[strings.LastIndexByte(text, ')')+1:])
		pid, err := strconv.Atoi(strings.Split(name, "/")[2])
		if err != nil || len(rest) < 2 {
			continue
		}
		if parents[pid], err = strconv.Atoi(rest[1]); err != nil {
			delete(parents, pid)
		}
	}
	var sum int64
	for pid := range parents {
		for up, depth := pid, 0; up > 1 && depth < 32; up, depth = parents[up], depth+1 {
			if up == root {
				sum += share(pid)
				break
			}
		}
	}
	return sum
}

// share is the memory of one process, with its part of what it shares.
func share(pid int) int64 {
	data, err := os.ReadFile("/proc/" + strconv.Itoa(pid) + "/smaps_rollup")
	if err != nil {
		return 0
	}
	for line := range strings.Lines(string(data)) {
		if rest, ok := strings.CutPrefix(line, "Pss:"); ok {
			kb, _ := strconv.ParseInt(strings.TrimSuffix(strings.TrimSpace(rest), " kB"), 10, 64)
			return kb << 10
		}
	}
	return 0
}

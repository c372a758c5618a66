package pglocal

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"syscall"
)

// dieWithParent has the kernel ask the server for a fast stop when this program dies, however it dies.
func dieWithParent(attr *syscall.SysProcAttr) { attr.Pdeathsig = syscall.SIGINT }

// whose looks the process up in /proc: a number in a stale postmaster.pid may by now belong to anything.
func whose(pid int, cluster string) owner {
	proc := fmt.Sprintf("/proc/%d", pid)
	cmdline, err := os.ReadFile(filepath.Join(proc, "cmdline"))
	if err != nil {
		return nobody
	}
	if len(cmdline) == 0 {
		return zombie(proc)
	}
	cwd, err := os.Readlink(filepath.Join(proc, "cwd"))
	if err != nil {
		return nobody // another user's process: PostgreSQL too takes such a file for stale
	}
	if real, err := filepath.EvalSymlinks(cluster); err != nil || cwd != real {
		return nobody
	}
	if bytes.Contains(cmdline, []byte("cluster_name="+clusterName+"\x00")) {
		return ours
	}
	return stranger
}

// zombie reports a dead process that its parent has not yet collected. It still blocks PostgreSQL's own pid file, so it
// counts as ours until it is gone.
func zombie(proc string) owner {
	b, err := os.ReadFile(filepath.Join(proc, "stat"))
	if err != nil {
		return nobody
	}
	if i := bytes.LastIndexByte(b, ')'); i > 0 && bytes.HasPrefix(b[i:], []byte(") Z")) && bytes.Contains(b[:i], []byte("(postgres")) {
		return ours
	}
	return nobody
}

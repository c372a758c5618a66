//go:build unix && !linux

package pglocal

import (
	"errors"
	"os/exec"
	"strconv"
	"strings"
	"syscall"
)

// dieWithParent has no counterpart outside Linux: after a kill -9 the server stays, and the next start ends it.
func dieWithParent(*syscall.SysProcAttr) {}

// whose asks ps, since there is no /proc to read.
func whose(pid int, cluster string) owner {
	if err := syscall.Kill(pid, 0); errors.Is(err, syscall.ESRCH) {
		return nobody
	}
	out, err := exec.Command("ps", "-o", "args=", "-p", strconv.Itoa(pid)).Output()
	if err != nil || !strings.Contains(string(out), cluster) {
		return nobody
	}
	if strings.Contains(string(out), "cluster_name="+clusterName) {
		return ours
	}
	return stranger
}

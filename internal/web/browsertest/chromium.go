// Package browsertest drives a real browser through pages of the program, for
// tests of what only a browser can show: scripts, the content policy, focus,
// printing, contrast.
//
// One browser runs for a test binary; each test has a profile of its own in it.
// Where Chromium is missing, tests fail and say so; they never skip. Set
// ENDCAST_SHOTS to a folder to keep the pictures that tests take.
package browsertest

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"

	"github.com/chromedp/chromedp"
)

// names under which the browser is looked for, in order.
var names = []string{"/usr/bin/chromium", "chromium", "chromium-browser", "google-chrome"}

const profiles = "endcast-browser-"

// browser starts Chromium once and returns the context that all pages come from.
var browser = sync.OnceValues(start)

func start() (context.Context, error) {
	sweep()
	opts, err := options(filepath.Join(os.TempDir(), profiles+strconv.Itoa(os.Getpid())))
	if err != nil {
		return nil, err
	}
	// The browser ends with this process; nothing cancels it before.
	alloc, _ := chromedp.NewExecAllocator(context.Background(), opts...)
	ctx, _ := chromedp.NewContext(alloc)
	if err := chromedp.Do(ctx); err != nil {
		return nil, fmt.Errorf("start the browser: %w", err)
	}
	return ctx, nil
}

// options are those of a browser with its profile in a folder.
func options(dir string) ([]chromedp.ExecAllocatorOption, error) {
	program := ""
	for _, n := range names {
		if p, err := exec.LookPath(n); err == nil {
			program = p
			break
		}
	}
	if program == "" {
		return nil, fmt.Errorf("no Chromium found (looked for %s): apt-get install chromium", strings.Join(names, ", "))
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(program),
		chromedp.UserDataDir(dir),
		chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-domain-reliability", true),
		chromedp.Flag("no-pings", true),
		chromedp.Flag("disable-gpu", true),
		chromedp.Flag("font-render-hinting", "none"),
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND , EXCLUDE 127.0.0.1 , EXCLUDE localhost"),
	)
	if os.Geteuid() == 0 {
		opts = append(opts, chromedp.NoSandbox) // the sandbox refuses to run as root
	}
	return opts, nil
}

// sweep removes profiles of test binaries that are gone.
func sweep() {
	old, _ := filepath.Glob(filepath.Join(os.TempDir(), profiles+"*"))
	for _, dir := range old {
		pid, err := strconv.Atoi(strings.TrimPrefix(filepath.Base(dir), profiles))
		if err != nil || pid == os.Getpid() {
			continue
		}
		p, err := os.FindProcess(pid)
		if err != nil || p.Signal(syscall.Signal(0)) != nil {
			_ = os.RemoveAll(dir)
		}
	}
}

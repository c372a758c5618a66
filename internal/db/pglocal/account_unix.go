//go:build unix

package pglocal

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// account is the user the server runs as.
type account struct {
	name     string
	uid, gid int
	switched bool // true when this program is root and changes to the account for the server
}

// chooseAccount picks the user: ourselves unless we are root, which PostgreSQL refuses.
func chooseAccount(wanted, cluster string) (account, error) {
	if os.Geteuid() != 0 {
		a := account{name: strconv.Itoa(os.Geteuid()), uid: os.Geteuid(), gid: os.Getegid()}
		if st, err := os.Stat(cluster); err == nil {
			if uid := int(st.Sys().(*syscall.Stat_t).Uid); uid != a.uid {
				return account{}, fmt.Errorf("data folder %s belongs to user %d, this program runs as user %d: run it as that user, or as root", cluster, uid, a.uid)
			}
		}
		return a, nil
	}
	if wanted == "" {
		if a, ok := ownerOf(cluster); ok {
			return a, nil
		}
	}
	names := []string{superuser, "nobody"}
	if wanted != "" {
		names = []string{wanted}
	}
	for _, n := range names {
		u, err := user.Lookup(n)
		if err != nil {
			continue
		}
		uid, err1 := strconv.Atoi(u.Uid)
		gid, err2 := strconv.Atoi(u.Gid)
		if err := errors.Join(err1, err2); err != nil {
			return account{}, fmt.Errorf("user %s: %w", n, err)
		}
		if uid == 0 {
			return account{}, fmt.Errorf("user %s is root: PostgreSQL refuses to run as root", n)
		}
		return account{name: n, uid: uid, gid: gid, switched: true}, nil
	}
	return account{}, fmt.Errorf("PostgreSQL refuses to run as root, and there is no user %s to run it as", strings.Join(names, " or "))
}

// ownerOf is the owner of the cluster or, if there is none yet, of the nearest folder above it that exists, so that commands
// of root and a service that runs as a user of its own agree on whose files these are. Root does not count, and nor does a
// user without a name for a new cluster: initdb asks for the name.
func ownerOf(cluster string) (account, bool) {
	for d := cluster; ; d = filepath.Dir(d) {
		st, err := os.Stat(d)
		if err != nil {
			if d == filepath.Dir(d) {
				return account{}, false
			}
			continue
		}
		sys := st.Sys().(*syscall.Stat_t)
		a := account{name: strconv.Itoa(int(sys.Uid)), uid: int(sys.Uid), gid: int(sys.Gid), switched: true}
		u, err := user.LookupId(a.name)
		if err == nil {
			a.name = u.Username
		}
		return a, sys.Uid != 0 && (err == nil || d == cluster)
	}
}

// makeFolder makes the data folder if there is none, and gives it to the account.
func (a account) makeFolder(dir string) error {
	if _, err := os.Stat(dir); err == nil {
		return nil
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("data folder: %w", err)
	}
	if a.switched {
		if err := os.Lchown(dir, a.uid, a.gid); err != nil {
			return fmt.Errorf("data folder: %w", err)
		}
	}
	return nil
}

// noFollow keeps root from writing through a link that the owner of the data folder may have put there.
const noFollow = syscall.O_NOFOLLOW

// ownFile gives a file that this program keeps in the data folder to the account, so that a later start as that account
// can open it too.
func (a account) ownFile(f *os.File) error {
	if !a.switched {
		return nil
	}
	if err := f.Chown(a.uid, a.gid); err != nil {
		return fmt.Errorf("data folder: %w", err)
	}
	return nil
}

// attributes are how the server's programs start: as the account, and for the server itself apart from our terminal's
// signals, so that it outlives the first Ctrl-C until we stop it in order.
func (a account) attributes(server bool) *syscall.SysProcAttr {
	attr := &syscall.SysProcAttr{Setpgid: server}
	if server {
		dieWithParent(attr)
	}
	if a.switched {
		attr.Credential = &syscall.Credential{Uid: uint32(a.uid), Gid: uint32(a.gid)}
	}
	return attr
}

// own gives one folder to the account, closed to everybody else.
func (a account) own(dir string) error {
	// In a folder of another user a link could lead root's chmod anywhere.
	if st, err := os.Lstat(dir); err != nil || !st.IsDir() {
		return fmt.Errorf("folder %s is no folder (%v): %w", dir, err, syscall.ENOTDIR)
	}
	if err := os.Chmod(dir, 0o700); err != nil {
		return fmt.Errorf("folder %s: %w", dir, err)
	}
	if !a.switched {
		return nil
	}
	if err := os.Lchown(dir, a.uid, a.gid); err != nil {
		return fmt.Errorf("folder %s: %w", dir, err)
	}
	return nil
}

// ownAll gives a folder and all below it to the account.
func (a account) ownAll(dir string) error {
	if !a.switched {
		return nil
	}
	return filepath.WalkDir(dir, func(p string, _ fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		return os.Lchown(p, a.uid, a.gid)
	})
}

// adopt makes an existing cluster the account's own, as after a restore of a backup by root.
func (a account) adopt(cluster string) error {
	st, err := os.Stat(cluster)
	if err != nil {
		return fmt.Errorf("data folder: %w", err)
	}
	if int(st.Sys().(*syscall.Stat_t).Uid) == a.uid {
		return nil
	}
	return a.ownAll(cluster)
}

// ownsPrivately reports whether dir is a real folder (no link) of the account that nobody else can enter.
func (a account) ownsPrivately(dir string) bool {
	st, err := os.Lstat(dir)
	return err == nil && st.IsDir() && st.Mode().Perm() == 0o700 && int(st.Sys().(*syscall.Stat_t).Uid) == a.uid
}

// canReach says which folder on the way to dir is closed to the account. PostgreSQL's own message would not name it.
func (a account) canReach(dir string) error {
	if !a.switched {
		return nil
	}
	for d := dir; ; d = filepath.Dir(d) {
		st, err := os.Stat(d)
		if err != nil {
			return fmt.Errorf("data folder: %w", err)
		}
		sys, bit := st.Sys().(*syscall.Stat_t), fs.FileMode(0o001)
		switch {
		case int(sys.Uid) == a.uid:
			bit = 0o100
		case int(sys.Gid) == a.gid:
			bit = 0o010
		}
		if st.Mode().Perm()&bit == 0 {
			return fmt.Errorf("folder %s is closed to user %s, who runs the database (PostgreSQL refuses to run as root): "+
				"choose another data folder, such as /var/lib/endcast, or open it with chmod o+x %s", d, a.name, d)
		}
		if d == filepath.Dir(d) {
			return nil
		}
	}
}

// takeLock locks a file until it is closed or the process dies.
func takeLock(path string) (*os.File, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|noFollow, 0o600)
	if err != nil {
		return nil, fmt.Errorf("data folder: %w", err)
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		b, _ := os.ReadFile(path)
		_ = f.Close()
		if !errors.Is(err, syscall.EWOULDBLOCK) {
			return nil, fmt.Errorf("lock data folder: %w", err)
		}
		pid, _ := strconv.Atoi(strings.TrimSpace(string(b)))
		return nil, &InUseError{Dir: filepath.Dir(path), PID: pid, Who: "another copy of this program"}
	}
	if err := f.Truncate(0); err == nil {
		_, _ = f.WriteAt([]byte(strconv.Itoa(os.Getpid())+"\n"), 0)
	}
	return f, nil
}

// interrupt asks a postmaster for a fast stop, quit for an immediate one.
func interrupt(pid int) error { return syscall.Kill(pid, syscall.SIGINT) }
func quit(pid int) error      { return syscall.Kill(pid, syscall.SIGQUIT) }

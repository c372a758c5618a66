package db

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Folder keeps the bytes of pictures as files, each under its own SHA-256: the same
// picture is one file, and a file never changes once it is there.
type Folder struct{ dir string }

// OpenFolder opens a folder of pictures and makes it where there is none. It finds out
// at once whether it can be written to.
func OpenFolder(dir string) (*Folder, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, fmt.Errorf("folder of photographs: %w", err)
	}
	if err := os.MkdirAll(dir, 0o750); err != nil {
		return nil, fmt.Errorf("folder of photographs: %w", err)
	}
	f, err := os.CreateTemp(dir, ".part-*")
	if err != nil {
		return nil, fmt.Errorf("folder of photographs: %w", err)
	}
	return &Folder{dir}, errors.Join(f.Close(), os.Remove(f.Name()))
}

// Dir is where the folder is.
func (f *Folder) Dir() string { return f.dir }

func (f *Folder) path(sha string) string { return filepath.Join(f.dir, sha[:2], sha) }

// isSum reports whether a name is a SHA-256 in small letters: nothing else is ever made
// into a path.
func isSum(s string) bool {
	b, err := hex.DecodeString(s)
	return err == nil && len(b) == sha256.Size && hex.EncodeToString(b) == s
}

// Put keeps a picture. When it returns, the picture is on disk under its name, whole.
// Bytes that do not have the hash are refused. A file that is there already with that
// very content is left alone, and a damaged one is replaced.
func (f *Folder) Put(sha string, data []byte) (err error) {
	if sum := sha256.Sum256(data); hex.EncodeToString(sum[:]) != sha {
		return fmt.Errorf("keep photograph: its content does not have the hash %.12s", sha)
	}
	if was, err := f.Get(sha); err == nil && len(was) == len(data) {
		return nil
	}
	path := f.path(sha)
	sub := filepath.Dir(path)
	if err := os.MkdirAll(sub, 0o750); err != nil {
		return fmt.Errorf("keep photograph: %w", err)
	}
	part, err := os.CreateTemp(sub, ".part-*")
	if err != nil {
		return fmt.Errorf("keep photograph: %w", err)
	}
	defer func() {
		_ = part.Close()
		if err != nil {
			_ = os.Remove(part.Name())
		}
	}()
	if _, err := part.Write(data); err != nil {
		return fmt.Errorf("keep photograph: %w", err)
	}
	if err := errors.Join(part.Chmod(0o640), part.Sync(), part.Close()); err != nil {
		return fmt.Errorf("keep photograph: %w", err)
	}
	if err := os.Rename(part.Name(), path); err != nil {
		return fmt.Errorf("keep photograph: %w", err)
	}
	return errors.Join(syncFolder(sub), syncFolder(f.dir))
}

// Get reads a picture and compares it with its hash. The error is fs.ErrNotExist where
// there is none.
func (f *Folder) Get(sha string) ([]byte, error) {
	if !isSum(sha) {
		return nil, fmt.Errorf("read photograph: %q is no hash", sha)
	}
	data, err := os.ReadFile(f.path(sha))
	if err != nil {
		return nil, fmt.Errorf("read photograph: %w", err)
	}
	if sum := sha256.Sum256(data); hex.EncodeToString(sum[:]) != sha {
		return nil, fmt.Errorf("read photograph: the file %.12s is damaged: its content does not have the hash that is its name", sha)
	}
	return data, nil
}

// Has reports whether a file of the name is there, without reading it.
func (f *Folder) Has(sha string) bool {
	st, err := os.Stat(f.path(sha))
	return err == nil && st.Mode().IsRegular()
}

// Remove takes a picture away; none is no error.
func (f *Folder) Remove(sha string) error {
	if !isSum(sha) {
		return fmt.Errorf("remove photograph: %q is no hash", sha)
	}
	if err := os.Remove(f.path(sha)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("remove photograph: %w", err)
	}
	return nil
}

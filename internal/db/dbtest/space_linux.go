package dbtest

import "syscall"

// freeSpace is the number of bytes free in a folder, 0 when there is no such folder.
func freeSpace(dir string) uint64 {
	var st syscall.Statfs_t
	if err := syscall.Statfs(dir, &st); err != nil {
		return 0
	}
	return st.Bavail * uint64(st.Bsize)
}

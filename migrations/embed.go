// Package migrations holds the database schema as numbered SQL files, an up and a down for each step.
//
// Rules for the files, which the tests beside the runner keep:
//
//   - Numbers start at 1 and have no gap. A file that has been released is never edited; a mistake is mended by the next number.
//   - Each file runs in one transaction together with the change of the version number, so it has no BEGIN, COMMIT or
//     CONCURRENTLY of its own.
//   - Every up has a down that takes back exactly what it did.
package migrations

import (
	"embed"
	"io/fs"
)

// FS holds the files. The pattern takes the whole folder, so that the package builds whichever files are there.
//
//go:embed *
var FS embed.FS

// Latest is the highest version that the files lead to.
func Latest() int {
	up, err := fs.Glob(FS, "*.up.sql")
	if err != nil {
		panic("migrations: " + err.Error())
	}
	return len(up)
}

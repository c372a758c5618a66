package main

import (
	"context"
	"flag"
	"fmt"
	"runtime/debug"
)

// named is set by the build (-ldflags "-X main.named=1.2.0"); without it the revision tells releases apart.
var named string

var versionCommand = command{
	name: "version", brief: "print the version of the program",
	setup: func(*flag.FlagSet) action {
		return func(_ context.Context, c console, _ settings, args []string) error {
			if err := noArguments(args); err != nil {
				return err
			}
			goVersion := "unknown"
			if info, ok := debug.ReadBuildInfo(); ok {
				goVersion = info.GoVersion
			}
			fmt.Fprintf(c.out, "endcast %s (%s)\n", release(), goVersion)
			return nil
		}
	},
}

// release is the name of this build.
func release() string {
	if named != "" {
		return named
	}
	revision, changed := "development", ""
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, s := range info.Settings {
			switch {
			case s.Key == "vcs.revision" && len(s.Value) >= 10:
				revision = s.Value[:10]
			case s.Key == "vcs.modified" && s.Value == "true":
				changed = "+"
			}
		}
	}
	return revision + changed
}

// Command server is the program endcast: it serves the application and has the commands that look after it.
//
// This package reads flags and environment, wires the rooms together and handles signals. It holds no rule of the work.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
	_ "time/tzdata" // zones of programs must be known on a machine that has none installed
)

func main() {
	signals := make(chan os.Signal, 2)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM)
	ctx, cancel := context.WithCancel(context.Background())
	go obey(signals, cancel, os.Exit)
	os.Exit(run(ctx, os.Args[1:], console{in: os.Stdin, out: os.Stdout, err: os.Stderr, env: os.Environ()}))
}

// obey asks for an orderly stop at the first signal and leaves at once at the second. The built-in database then ends by
// itself and loses nothing that was acknowledged.
func obey(signals <-chan os.Signal, stop func(), exit func(int)) {
	<-signals
	stop()
	<-signals
	exit(exitSignal)
}

package main

import (
	"context"
	"errors"
	"fmt"
	"text/tabwriter"
	"time"

	"endcast/internal/domain/demo"
	"endcast/internal/domain/sequence"
	"endcast/internal/password"
	"endcast/views/login"
)

func init() {
	provided.LoadDemo = loadDemo
	provided.Empty = func(ctx context.Context, j job) (bool, error) { return j.store().Empty(ctx) }
	provided.DemoAccounts = demoAccounts
}

// loadDemo fills an empty database with the demonstration and prints its accounts.
func loadDemo(ctx context.Context, j job) error {
	store := j.store()
	empty, err := store.Empty(ctx)
	if err != nil {
		return err
	}
	if !empty {
		return errors.New("the database holds a program already; the demonstration goes into an empty one only")
	}
	fmt.Fprintln(j.Out, "Loading the demonstration, an invented bridge on its own day in July 2027 ...")
	began := time.Now()
	if err := store.LoadDemo(ctx, password.Hash); err != nil {
		return err
	}
	j.Log.Info("demonstration loaded", "seconds", time.Since(began).Seconds())
	t := tabwriter.NewWriter(j.Out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "ROLE\tEMAIL\tPASSWORD")
	for _, p := range demo.People() {
		fmt.Fprintf(t, "%s\t%s\t%s\n", sequence.RoleWords(p.Role), p.Email, p.Password)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(j.Out, "Everybody knows these passwords: they open nothing once the database holds another program.")
	return nil
}

// demoAccounts lists the accounts to offer at the sign-in page.
func demoAccounts(ctx context.Context, j job) ([]login.DemoAccount, error) {
	only, err := j.store().DemoOnly(ctx)
	if err != nil || !only {
		return nil, err
	}
	var out []login.DemoAccount
	for _, p := range demo.People() {
		out = append(out, login.DemoAccount{Role: sequence.RoleWords(p.Role), Email: p.Email, Password: p.Password})
	}
	return out, nil
}

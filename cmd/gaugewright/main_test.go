package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"gaugewright": main})
}

// TestScripts runs the command as its users do: statuses, streams and files together. DRAFTS, BROKEN and CARDS are the folders of
// whole drafts and cards that all packages share.
func TestScripts(t *testing.T) {
	shared, err := filepath.Abs("../../testdata")
	if err != nil {
		t.Fatal(err)
	}
	for _, folder := range []string{"drafts", "broken", "cards"} {
		if found, _ := filepath.Glob(filepath.Join(shared, folder, "*.md")); len(found) == 0 {
			t.Fatalf("no drafts in %s", filepath.Join(shared, folder))
		}
	}
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		UpdateScripts:       os.Getenv("GAUGEWRIGHT_UPDATE") != "",
		Cmds:                map[string]func(ts *testscript.TestScript, neg bool, args []string){"status": status},
		Condition:           condition,
		Setup: func(e *testscript.Env) error {
			e.Setenv("DRAFTS", filepath.Join(shared, "drafts"))
			e.Setenv("CARDS", filepath.Join(shared, "cards"))
			e.Setenv("BROKEN", filepath.Join(shared, "broken"))
			return nil
		},
	})
}

// status runs a program like exec does and asks for its very exit status: `status 2 gaugewright check torn.md`.
func status(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status number program [argument...]")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	err = ts.Exec(args[1], args[2:]...)
	var exit *exec.ExitError
	switch {
	case errors.As(err, &exit):
		got = exit.ExitCode()
	case err != nil:
		ts.Fatalf("%v", err)
	}
	// A crash of the runtime has the status of refused input.
	if told := ts.ReadFile("stderr"); strings.Contains(told, "goroutine ") || strings.Contains(told, slip) {
		ts.Fatalf("it crashed")
	}
	if got != want {
		ts.Fatalf("exit status %d, not %d", got, want)
	}
}

// condition knows `unprivileged`, where rights of files count, and `ownmounts`, where a script may mount a disk of its own.
func condition(name string) (bool, error) {
	switch name {
	case "unprivileged":
		return os.Geteuid() > 0, nil
	case "ownmounts":
		err := exec.Command("unshare", "-Umr", "true").Run()
		if err != nil && os.Getenv("GAUGEWRIGHT_OUTSIDE") != "" {
			return false, fmt.Errorf("a full disk cannot be made here: unshare -Umr: %w", err)
		}
		return err == nil, nil
	}
	return false, fmt.Errorf("unknown condition %q", name)
}

package main

import (
	"strings"
	"testing"
)

func TestSlipOfTheProgramIsAMessage(t *testing.T) {
	var out strings.Builder
	p := &program{stdout: &out, stderr: &out, command: "check"}
	var none []int
	status, err := p.guarded(&command{do: func(*program, []string) (int, error) { return none[3], nil }}, nil)
	if status != refused || err == nil || !strings.Contains(err.Error(), slip) {
		t.Fatalf("status %d, %v", status, err)
	}
	if p.fail(err); !strings.Contains(out.String(), "report it") {
		t.Error(out.String())
	}
}

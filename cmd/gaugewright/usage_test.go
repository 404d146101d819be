package main

import (
	"bytes"
	"regexp"
	"strings"
	"testing"
)

// Help begins with what is typed, names each option once, has an example that is typed in full, tells the exit status, and fits
// a terminal of 130 columns.
func TestEveryCommandHasHelp(t *testing.T) {
	for _, c := range commands {
		var out, errs bytes.Buffer
		status := run([]string{c.name, "--help"}, strings.NewReader(""), &out, &errs, func(string) string { return "" })
		text := out.String()
		if status != done || errs.Len() > 0 {
			t.Errorf("%s --help ends with %d and %q", c.name, status, errs.String())
		}
		for _, want := range []string{`^gaugewright ` + c.name + ` [A-Z]`, `(?m)^Examples?:\n  gaugewright ` + c.name + ` \S`, `(?m)^Exit status: 0 done|^Exit status: 0 `} {
			if !regexp.MustCompile(want).MatchString(text) {
				t.Errorf("%s --help has nothing like %s", c.name, want)
			}
		}
		for _, line := range strings.Split(text, "\n") {
			if n := len([]rune(line)); n > 130 {
				t.Errorf("%s --help: %d columns: %s", c.name, n, line)
			}
		}
		options := regexp.MustCompile(`(?m)^  (--[a-z-]+)`).FindAllString(text, -1)
		seen := map[string]bool{}
		for _, o := range options {
			if seen[o] {
				t.Errorf("%s --help tells of %s twice", c.name, o)
			}
			seen[o] = true
		}
		if !strings.Contains(usage, "\n      gaugewright "+c.name+" ") {
			t.Errorf("the first help has no example of %s", c.name)
		}
	}
}

package rewrite_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// told is diagnostics as a test prints them.
func told(f *grammar.File, ds grammar.Diagnostics) string {
	var b strings.Builder
	for _, d := range ds {
		line, col := f.Position(d.Span.Start)
		b.WriteString(d.Severity.String() + " ")
		b.WriteString(strings.TrimSpace(f.Text(d.Span)))
		b.WriteString(": " + d.Summary + " (" + d.Detail + ") — " + d.WayOut)
		for _, r := range d.Related {
			b.WriteString("\n    " + f.Text(r.Span) + ": " + r.Text)
		}
		_ = col
		b.WriteString("\n")
		_ = line
	}
	return b.String()
}

type failer interface {
	Helper()
	Fatalf(string, ...any)
}

// read reads a draft that must be sound: no error and no fault.
func read(t failer, src string) *dsl.Draft {
	t.Helper()
	f, ds := grammar.Parse("draft.md", []byte(src))
	if ds.Has(grammar.Fault) {
		t.Fatalf("the draft cannot be read:\n%s\n%s", told(f, ds), src)
	}
	d, more := dsl.Read(f)
	if more.Has(grammar.Fault) {
		t.Fatalf("the draft is not sound:\n%s\n%s", told(f, more), src)
	}
	return d
}

func TestRandomDraftsAreSound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := makeDraft(t)
		read(t, d.src)
	})
}

var _ = rewrite.Convert

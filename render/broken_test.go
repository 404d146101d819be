package render_test

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/render"
	"gaugewright/rewrite"
)

var updateReports = flag.Bool("update-reports", false, "write the reports of the broken drafts as they are now")

// report is what checking a draft says of it, as the command does it.
func report(name string, src []byte) (*grammar.File, grammar.Diagnostics) {
	f, diags := grammar.Parse(name, src)
	if !diags.Has(grammar.Error) {
		d, more := dsl.Read(f)
		diags = append(diags, more...)
		if d != nil {
			more, _ = rewrite.Check(d)
			diags = append(diags, more...)
		}
	}
	diags.Sort()
	return f, diags
}

// TestBrokenDrafts holds each draft of the broken shelf against the report that was read and found good.
func TestBrokenDrafts(t *testing.T) {
	shelf := filepath.Join("..", "testdata", "broken")
	drafts, err := filepath.Glob(filepath.Join(shelf, "*.md"))
	if err != nil || len(drafts) < 30 {
		t.Fatalf("%d broken drafts on the shelf, at least 30 belong there (%v)", len(drafts), err)
	}
	reported := map[string]bool{}
	for _, path := range drafts {
		name := filepath.Base(path)
		want := strings.TrimSuffix(path, ".md") + ".report"
		reported[want] = true
		t.Run(strings.TrimSuffix(name, ".md"), func(t *testing.T) {
			src, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			before := bytes.Clone(src)
			f, diags := report(name, src)
			got := render.Diagnostics(f, diags, false)
			if !bytes.Equal(src, before) {
				t.Error("checking changed the source it was given")
			}
			if !diags.Has(grammar.Fault) {
				t.Errorf("nothing is found wrong with this draft:\n%s", got)
			}
			for _, d := range diags {
				if d.Severity >= grammar.Fault && d.WayOut == "" {
					t.Errorf("no way out is shown for: %s", d.Summary)
				}
			}
			if *updateReports {
				if err := os.WriteFile(want, got, 0o666); err != nil {
					t.Fatal(err)
				}
				return
			}
			text, err := os.ReadFile(want)
			if err != nil {
				t.Fatalf("no report to hold this against (%v); it says:\n%s", err, got)
			}
			if d := cmp.Diff(string(text), string(got)); d != "" {
				t.Errorf("the report is not the one on the shelf (-shelf +now):\n%s", d)
			}
		})
	}
	reports, err := filepath.Glob(filepath.Join(shelf, "*.report"))
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range reports {
		if !reported[path] {
			t.Errorf("%s reports on no draft", path)
		}
	}
}

package grammar

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write the golden files anew")

// preamble gives the table's phrases the names they use.
const preamble = "```draft\nfabric main: 20 sts and 28 rows to 10 cm\nfabric rib: 22 sts and 30 rows to 10 cm\nfabric lace: 18 sts and 30 rows to 10 cm\n" +
	"fabric cable: 24 sts and 30 rows to 10 cm\nfabric garter stitch: 18 sts and 36 rows to 10 cm\nsizes: S (M, L)\n" +
	"chest = 88 (96, 104) cm\nease = 10 cm\nhips = 90 cm\nwaist = 80 cm\nfoot = 24 cm\nback width = 40 cm\nbody length = 58 cm\narmhole depth = 20 cm\nband = 4 cm\nneck width = 16 cm\n```\n\n" +
	"{work 1 row | as decrease row}{work 1 row | as underarm}{hold 3 sts as left front}{hold 3 sts as left shoulder}{hold 3 sts as right shoulder}{4 sts | as heel sts}{hold 9 sts as flap}\n\n"

func golden(t *testing.T, name, got string) {
	t.Helper()
	if *update {
		if err := os.WriteFile(name, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s differs (-want +got); run with -update if this is meant:\n%s", name, diff)
	}
}

func tableLines(t testing.TB, name string) []string {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, line := range strings.Split(strings.TrimSpace(string(b)), "\n") {
		if line != "" {
			out = append(out, line)
		}
	}
	if len(out) == 0 {
		t.Fatal("the table is empty")
	}
	return out
}

func one1(f *File, m *Mark, diags Diagnostics) string {
	var b strings.Builder
	for _, d := range diags {
		fmt.Fprintf(&b, "  %s at %q: %s. %s [%s]\n", d.Severity, f.Text(d.Span), d.Summary, d.Detail, d.WayOut)
	}
	if m.Phrase != nil {
		fmt.Fprintf(&b, "  %s\n", dump(f, m.Phrase))
	}
	for _, t := range m.Ties {
		fmt.Fprintf(&b, "  | %s\n", dump(f, t))
	}
	rest := *m
	rest.Phrase, rest.Ties, rest.Span, rest.BarSpan = nil, nil, Span{}, Span{}
	fmt.Fprintf(&b, "  %s\n", dump(f, rest))
	return b.String()
}

// TestPhrases reads every line of the table and compares what became of it with the golden file.
func TestPhrases(t *testing.T) {
	var b strings.Builder
	for _, line := range tableLines(t, "testdata/phrases.txt") {
		if line[0] == '#' {
			fmt.Fprintf(&b, "%s\n", line)
			continue
		}
		f, diags := Parse("table", []byte(preamble+"{"+line+"}\n"))
		fmt.Fprintf(&b, "{%s}\n%s", line, one1(f, f.Marks[len(f.Marks)-1], diags))
	}
	golden(t, "testdata/phrases.golden", b.String())
}

// TestNaturalWording holds phrases as designers write them. The few that say too little are in the golden file with what
// is said of them.
func TestNaturalWording(t *testing.T) {
	var b strings.Builder
	for _, line := range tableLines(t, "testdata/natural.txt") {
		if line[0] == '#' {
			continue
		}
		f, diags := Parse("table", []byte(preamble+"{"+line+"}\n"))
		fmt.Fprintf(&b, "{%s}\n%s", line, one1(f, f.Marks[len(f.Marks)-1], diags))
	}
	golden(t, "testdata/natural.golden", b.String())
}

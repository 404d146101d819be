package rewrite_test

import (
	"math/big"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// The outside checks hold the tool against numbers that others published. Each names its source beside it; the ids (PD-, WE-)
// are those of the collection the figures were taken from. Facts only: every draft is in our own words.

// outside is the text of one of our own drafts that restate published counts.
func outside(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "testdata", "outside", name))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// mended is a text with one thing changed, which must stand in it exactly once.
func mended(t *testing.T, text, from, to string) string {
	t.Helper()
	if n := strings.Count(text, from); n != 1 {
		t.Fatalf("%q stands %d times in the draft, not once", from, n)
	}
	return strings.Replace(text, from, to, 1)
}

// checkedText is what check finds: everything that is told, and the draft where it could be read.
func checkedText(name, text string) (*dsl.Draft, grammar.Diagnostics) {
	f, diags := grammar.Parse(name, []byte(text))
	if diags.Has(grammar.Error) {
		return nil, diags
	}
	d, more := dsl.Read(f)
	diags = append(diags, more...)
	if d != nil {
		notes, _ := rewrite.Check(d)
		diags = append(diags, notes...)
	}
	diags.Sort()
	return d, diags
}

// faultsIn is what check finds that does not hold.
func faultsIn(diags grammar.Diagnostics) (out grammar.Diagnostics) {
	for _, x := range diags {
		if x.Severity >= grammar.Fault {
			out = append(out, x)
		}
	}
	return out
}

// sound is a draft that must hold as it stands.
func sound(t *testing.T, name, text string) *dsl.Draft {
	t.Helper()
	d, diags := checkedText(name, text)
	for _, x := range faultsIn(diags) {
		line, col := 0, 0
		if d != nil {
			line, col = d.File.Position(x.Span.Start)
		}
		t.Errorf("%s:%d:%d: %v: %s", name, line, col, x.Severity, x.Summary)
	}
	if d == nil || len(faultsIn(diags)) > 0 {
		t.FailNow()
	}
	return d
}

// wants is a draft in which one thing does not hold: it must be told at the place where at stands, and name all the numbers.
func wants(t *testing.T, name, text, at string, numbers ...string) {
	t.Helper()
	wantsFaults(t, name, text, at, 1, numbers...)
}

// wantsFaults is the same where more than one fault follows, the first of them at the place: after a contradiction the work goes
// on with what the draft states, so a false statement is contradicted again by the next true one.
func wantsFaults(t *testing.T, name, text, at string, faults int, numbers ...string) {
	t.Helper()
	_, diags := checkedText(name, text)
	bad := faultsIn(diags)
	if len(bad) != faults || bad[0].Severity != grammar.Fault {
		t.Errorf("%s: %d findings where %d were expected:", name, len(bad), faults)
		for _, x := range bad {
			t.Errorf("  %v at byte %d: %s", x.Severity, x.Span.Start, x.Summary)
		}
		return
	}
	x := bad[0]
	start := strings.Index(text, at)
	if start < 0 || strings.Count(text, at) != 1 {
		t.Fatalf("%s: %q does not stand there once", name, at)
	}
	if x.Span.Start < start || x.Span.Start >= start+len(at) {
		t.Errorf("%s: the fault lies at %q, not within %q: %s", name, text[x.Span.Start:x.Span.End], at, x.Summary)
	}
	for _, n := range numbers {
		if !holdsNumber(x.Summary+" "+x.Detail+" "+x.WayOut, n) {
			t.Errorf("%s: the fault does not name %s: %s (%s)", name, n, x.Summary, x.Detail)
		}
	}
}

// holdsNumber says whether a whole number stands in a text by itself, not as part of another.
func holdsNumber(text, n string) bool {
	for _, f := range strings.FieldsFunc(text, func(r rune) bool { return r < '0' || r > '9' }) {
		if f == n {
			return true
		}
	}
	return false
}

// gaugeOption is a gauge as the option has it: `18 sts and 25 rows to 10 cm`, `rib: …`.
func gaugeOption(t *testing.T, text string) rewrite.AskedGauge {
	t.Helper()
	name, g, err := grammar.ParseGauge(text)
	if err != nil {
		t.Fatal(err)
	}
	x, err := dsl.ReadGauge(*g)
	if err != nil {
		t.Fatal(err)
	}
	return rewrite.AskedGauge{Fabric: name, Gauge: x, Text: text}
}

// converted is a sound draft at another gauge.
func converted(t *testing.T, name, text string, gauges ...string) *rewrite.Conversion {
	t.Helper()
	var r rewrite.Request
	for _, g := range gauges {
		r.Gauges = append(r.Gauges, gaugeOption(t, g))
	}
	c, diags := rewrite.Convert(sound(t, name, text), r)
	if c == nil {
		t.Fatalf("%s: %v", name, diags)
	}
	if !c.Proven {
		t.Errorf("%s: the numbers are not proven to be the best", name)
	}
	return c
}

// numbersNamed are the new values of the number called name, one a size.
func numbersNamed(t *testing.T, c *rewrite.Conversion, name string) []*big.Rat {
	t.Helper()
	for _, n := range c.Numbers {
		if n.Name == name {
			return n.To
		}
	}
	t.Fatalf("no number is called %s", name)
	return nil
}

// isNow requires the number called name to have the values, one a size.
func isNow(t *testing.T, c *rewrite.Conversion, name string, want ...int64) {
	t.Helper()
	got := numbersNamed(t, c, name)
	if len(got) != len(want) {
		t.Errorf("%s has %d values, not %d", name, len(got), len(want))
		return
	}
	for i := range want {
		if got[i] == nil || got[i].Cmp(big.NewRat(want[i], 1)) != 0 {
			t.Errorf("%s is %v, want %v", name, got, want)
			return
		}
	}
}

// mustSay requires the new draft to hold a text.
func mustSay(t *testing.T, c *rewrite.Conversion, want string) {
	t.Helper()
	if !strings.Contains(string(c.New), want) {
		t.Errorf("the new draft does not say %q:\n%s", want, c.New)
	}
}

// plainly is a draft of one fabric with a block of measures (may be empty) and a text.
func plainly(gauge, measures, text string) string {
	return "# A check\n\n```draft\nnotation 1\nfabric main: " + gauge + "\n" + measures + "```\n\n" + text + "\n"
}

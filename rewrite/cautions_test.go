package rewrite_test

import (
	"math/big"
	"strings"
	"testing"

	"gaugewright/dsl"
	"gaugewright/rewrite"
)

// Each caution where it is due and nowhere else. Common practice, no source.
func TestCautions(t *testing.T) {
	const (
		cords   = "can strangle or choke"
		buttons = "Sew each on firmly"
		floats  = "catch fingers and toes"
		tight   = "can hurt hands and wrists"
	)
	block := func(sizes string) string {
		return "```draft\nfabric main: 20 sts and 28 rows to 10 cm\n" + sizes + "\n```\n\n{Cast on 60 sts}. {Work 28 rows}. {Bind off all sts}.\n\n"
	}
	one := block("width = 30 cm")
	for _, c := range []struct {
		name, draft string
		sts         int64
		want        []string
	}{
		{"a plain scarf", one + "Sew on two buttons and make a cord.", 200, nil},
		{"a child's, plain", one + "For a child of six.", 200, nil},
		{"a baby's with ties", one + "Ties for a baby's bonnet.", 200, []string{cords}},
		{"infants' loops", one + "Infants like loops.", 200, []string{cords}},
		{"children's things", one + "Cords on children's things are governed by rules.", 200, []string{cords}},
		{"by its sizes", block("sizes: 6 months (12 months)") + "Sew on a button.", 200, []string{buttons}},
		{"a cardigan and its ties", block("sizes: 6 months (12 months)") + "Buttonholes, and ties.", 200, []string{cords, buttons}},
		{"by its sizes in years", block("sizes: 2 yrs (4 yrs)") + "Finish with a pompom.", 200, []string{cords}},
		{"grown-ups' sizes", block("sizes: 32 (34)") + "Finish with a pompom. It took me 3 months.", 200, nil},
		{"words that only look like it", one + "According to my kidney and a looped, childish, buttonhole-free whim.", 200, nil},
		{"colourwork for grown-ups", one + "Stranded, with floats, round the yoke of a jumper.", 200, nil},
		{"colourwork gloves", one + "Stranded gloves.", 200, []string{floats}},
		{"colourwork for a toddler", one + "Fair Isle for toddlers.", 200, []string{floats}},
		{"plain gloves", one + "Gloves.", 200, nil},
		{"15 in 100 more stitches", one, 230, nil},
		{"more than that", one, 231, []string{tight}},
		{"all three", one + "Stranded mittens for a child, on a cord.", 260, []string{cords, floats, tight}},
	} {
		g := rewrite.AskedGauge{Gauge: dsl.Gauge{Stitches: big.NewRat(c.sts, 100), Rows: big.NewRat(28, 10)}}
		got := regauged(t, c.draft, rewrite.Request{Gauges: []rewrite.AskedGauge{g}}).Cautions
		for _, text := range []string{cords, buttons, floats, tight} {
			due := false
			for _, w := range c.want {
				due = due || w == text
			}
			if said := strings.Contains(strings.Join(got, "\n"), text); said != due {
				t.Errorf("%s: %q is said: %v; %q", c.name, text, said, got)
			}
		}
		for _, text := range got {
			if !strings.Contains(text, "rules for children's clothing where you live") && !strings.Contains(text, "ask a professional") {
				t.Errorf("%s: %q defers to nobody", c.name, text)
			}
		}
	}
}

// A fabric that was only assumed to change is no reason: its needles may be chosen.
func TestNoCautionOfAnAssumption(t *testing.T) {
	src := "```draft\nfabric main: 20 sts and 28 rows to 10 cm\nfabric rib: 20 sts and 28 rows to 10 cm\nwidth = 30 cm\n```\n\n{Cast on 60 sts in rib}. {Work 28 rows}. {Bind off all sts}.\n"
	c := regauged(t, src, rewrite.Request{Gauges: gauged(26, 36)})
	if len(c.Cautions) != 1 || !strings.Contains(c.Cautions[0], "The gauge of main ") {
		t.Errorf("%q", c.Cautions)
	}
}

// The decision of a card carries them, too.
func TestCautionsOfADecision(t *testing.T) {
	src := strings.Replace(strip, "## Strip", "## Strip for a baby, with ties", 1)
	x := decide(t, src, "fabric main\nwashed: 50 sts over 20 cm; 70 rows over 20 cm", rewrite.Request{})
	if got := strings.Join(x.Cautions, "\n"); !strings.Contains(got, "strangle") || !strings.Contains(got, "hands and wrists") || len(x.Cautions) != 2 {
		t.Errorf("%q", got)
	}
	if x = decide(t, strip, "fabric main\nwashed: 40 sts over 20 cm; 56 rows over 20 cm", rewrite.Request{}); len(x.Cautions) > 0 {
		t.Errorf("%q", x.Cautions)
	}
}

package mark

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// TestPlainToConverted takes the shipped plain pattern all the way: marked, checked, converted to another gauge.
func TestPlainToConverted(t *testing.T) {
	src, err := os.ReadFile("../../testdata/plain/windfall.md")
	if err != nil {
		t.Fatal(err)
	}
	sound(t, src)
	m, _ := Mark("windfall.md", src)
	if len(m.Checked) > 0 && m.Checked.Has(grammar.Fault) {
		t.Fatal(m.Checked)
	}
	f, _ := grammar.Parse("windfall.md", m.New)
	d, diags := dsl.Read(f)
	if d == nil {
		t.Fatal(diags)
	}
	same, _ := rewrite.Convert(d, rewrite.Request{})
	if same == nil || !bytes.Equal(same.New, m.New) {
		t.Error("converting it to its own gauge changes it")
	}
	_, g, err := grammar.ParseGauge("18 sts and 25 rows to 10 cm")
	if err != nil {
		t.Fatal(err)
	}
	gauge, err := dsl.ReadGauge(*g)
	if err != nil {
		t.Fatal(err)
	}
	c, diags := rewrite.Convert(d, rewrite.Request{Gauges: []rewrite.AskedGauge{{Fabric: "main", Gauge: gauge}}})
	if c == nil {
		t.Fatal(diags)
	}
	// 49 cm at 18 sts to 10 cm are 88.2 sts, and 53 and 57 cm 95.4 and 102.6; k2, p2 rib with two knit stitches at both ends asks for a
	// multiple of 4 + 2.
	if !strings.Contains(string(c.New), "{cast on 90 (94, 102) sts | finished chest / 2, multiple of 4 + 2}") {
		t.Errorf("the back is not recalculated:\n%s", c.New)
	}
}

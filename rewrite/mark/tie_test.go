package mark

import (
	"strings"
	"testing"
)

// TestBodyMeasuresAreNotTied: what the garment measures leads to its counts, what its wearer measures does not.
func TestBodyMeasuresAreNotTied(t *testing.T) {
	for _, x := range []struct {
		measure string
		tied    bool
	}{
		{"Finished chest: 90 cm", true},
		{"Actual chest measurement 90 cm", true},
		{"To fit chest 90 cm", false},
		{"Fits bust: 90 cm", false},
		{"Finished head circumference: 90 cm", true},
		{"Head circumference: 90 cm", false},
	} {
		m, _ := Mark("m.md", []byte(x.measure+"\n\nGauge: 20 sts and 28 rows = 10 cm\n\nCast on 90 sts. Work 40 rows. Cast off 90 sts.\n"))
		if tied := strings.Contains(string(m.New), "{Cast on 90 sts |"); tied != x.tied {
			t.Errorf("%s: tied is %v\n%s", x.measure, tied, m.New)
		}
	}
}

package main

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
)

// drafts are the shared drafts, by name.
func drafts(t testing.TB) (names []string, texts [][]byte) {
	names, err := filepath.Glob("../../testdata/drafts/*.md")
	if err != nil || len(names) == 0 {
		t.Fatalf("no shared drafts: %v", err)
	}
	for _, n := range names {
		text, err := os.ReadFile(n)
		if err != nil {
			t.Fatal(err)
		}
		texts = append(texts, text)
	}
	return names, texts
}

// gaugewright runs the program on a draft from standard input.
func gaugewright(draft []byte, args ...string) (status int, stdout, stderr string) {
	var out, errs bytes.Buffer
	status = run(args, bytes.NewReader(draft), &out, &errs, func(string) string { return "" })
	return status, out.String(), errs.String()
}

// TestConvertedDraftsHold converts the shared drafts to all sorts of gauges. Whatever comes out must hold by the program's
// own check, and come back byte for byte from the gauge it is now drafted at; what is refused must leave nothing behind but
// the reason.
func TestConvertedDraftsHold(t *testing.T) {
	names, texts := drafts(t)
	gauges := []string{"18 sts and 25 rows to 10 cm", "22 sts and 30 rows to 10 cm", "28.3 sts and 41.1 rows to 10 cm", "11 sts and 16 rows to 10 cm"}
	if !testing.Short() {
		// From 8 to 40 stitches and from 8 to 60 rows to 10 cm, in tenths; the same ones each time.
		random := rand.New(rand.NewPCG(1918, 4))
		for range 12 {
			st, rows := 80+random.IntN(321), 80+random.IntN(521)
			gauges = append(gauges, fmt.Sprintf("%d.%d sts and %d.%d rows to 10 cm", st/10, st%10, rows/10, rows%10))
		}
	}
	for i, text := range texts {
		t.Run(filepath.Base(names[i]), func(t *testing.T) {
			t.Parallel()
			converted := 0
			for _, gauge := range gauges {
				status, out, why := gaugewright(text, "convert", "-", "--gauge", gauge)
				switch {
				case status == refused && out == "" && why != "":
					continue
				case status != done:
					t.Errorf("%s: status %d, %d bytes written\n%s", gauge, status, len(out), why)
					continue
				}
				converted++
				if status, _, why := gaugewright([]byte(out), "check", "-"); status != done {
					t.Errorf("%s: the result does not hold: status %d\n%s", gauge, status, why)
				}
				if status, again, why := gaugewright([]byte(out), "convert", "-"); status != done || again != out {
					t.Errorf("%s: the result does not come back from its own gauge: status %d\n%s", gauge, status, why)
				}
			}
			if 2*converted < len(gauges) {
				t.Errorf("only %d of %d gauges were not refused", converted, len(gauges))
			}
		})
	}
}

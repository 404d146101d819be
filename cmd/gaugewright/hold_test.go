package main

import (
	"bytes"
	"fmt"
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

// FuzzConvertedDraftsHold converts the shared drafts to all sorts of gauges: from 5 to 60 stitches and from 5 to 90 rows to
// 10 cm, in tenths. Whatever comes out must hold by the program's own check, and come back byte for byte from the gauge it is now
// drafted at; what is refused must leave nothing behind but the reason.
func FuzzConvertedDraftsHold(f *testing.F) {
	names, texts := drafts(f)
	for i := range names {
		for _, g := range [][2]uint16{{180, 250}, {220, 300}, {165, 240}, {283, 411}, {110, 160}} {
			f.Add(uint8(i), g[0], g[1])
		}
	}
	f.Fuzz(func(t *testing.T, which uint8, stitches, rows uint16) {
		i := int(which) % len(texts)
		stitches, rows = 50+(stitches-50)%551, 50+(rows-50)%851
		gauge := fmt.Sprintf("%d.%d sts and %d.%d rows to 10 cm", stitches/10, stitches%10, rows/10, rows%10)
		status, converted, why := gaugewright(texts[i], "convert", "-", "--gauge", gauge)
		switch status {
		case refused:
			if converted != "" || why == "" {
				t.Fatalf("%s to %s: refused, but %d bytes were written and %d said", names[i], gauge, len(converted), len(why))
			}
			return
		case done:
		default:
			t.Fatalf("%s to %s: status %d\n%s", names[i], gauge, status, why)
		}
		if status, _, why := gaugewright([]byte(converted), "check", "-"); status != done {
			t.Errorf("%s to %s: the result does not hold: status %d\n%s", names[i], gauge, status, why)
		}
		if status, again, why := gaugewright([]byte(converted), "convert", "-"); status != done || again != converted {
			t.Errorf("%s to %s: the result does not come back from its own gauge: status %d\n%s", names[i], gauge, status, why)
		}
	})
}

package render

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestWordDiff(t *testing.T) {
	var d wordDiffer
	var got []string
	for _, r := range d.diff("every 4th row 112 times", "every 4th row 128 times, then every 6th row 3 times") {
		got = append(got, [...]string{"=", "-", "+"}[r.is]+r.text)
	}
	if s := strings.Join(got, "|"); s != "=every 4th row |-112|+128 times, then every 6th row 3|= times" {
		t.Error(s)
	}
	long := strings.Repeat("a b ", 3000)
	if r := d.diff(long, "x"); len(r) != 2 {
		t.Errorf("%d parts", len(r))
	}
}

// The way that does without a comparison gives what a comparison gives, and both give both sentences back.
func TestWordDiffReadOffIsTheShortest(t *testing.T) {
	var readOff int
	sentence := rapid.Custom(func(t *rapid.T) string {
		return strings.Join(rapid.SliceOfN(rapid.SampledFrom([]string{"row", "every", "4", "6", "112", "(8, 9)", "st", "\xff", "–"}), 0, 7).Draw(t, "words"), " ")
	})
	rapid.Check(t, func(t *rapid.T) {
		was, now := sentence.Draw(t, "was"), sentence.Draw(t, "now")
		var d wordDiffer
		got := append([]run(nil), d.diff(was, now)...)
		var old, new strings.Builder
		for _, r := range got {
			if r.is != come {
				old.WriteString(r.text)
			}
			if r.is != gone {
				new.WriteString(r.text)
			}
		}
		if old.String() != was || new.String() != now {
			t.Fatalf("%q to %q: %v", was, now, got)
		}
		d.out = nil
		if !d.plainly() {
			return
		}
		readOff++
		d.out = nil
		d.byComparison()
		if len(d.out) != len(got) {
			t.Fatalf("%q to %q: %v, compared %v", was, now, got, d.out)
		}
		for i := range got {
			if got[i] != d.out[i] {
				t.Fatalf("%q to %q: %v, compared %v", was, now, got, d.out)
			}
		}
	})
	if readOff == 0 {
		t.Error("none was read off")
	}
}

func TestTokens(t *testing.T) {
	for s, want := range map[string]string{
		"k4, (k2tog, k8)  9 times": "k4|,| |(|k2tog|,| |k8|)|  |9| |times",
		"12th (8½\")":              "12th| |(|8½\"|)",
		"\xff\u00a0a":              "\xff|\u00a0|a",
	} {
		var got []string
		for rest := s; rest != ""; {
			n := token(rest)
			got = append(got, rest[:n])
			rest = rest[n:]
		}
		if g := strings.Join(got, "|"); g != want {
			t.Errorf("%q: %s", s, g)
		}
	}
}

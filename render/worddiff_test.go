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

// A comparison gives both sentences back.
// givesBoth says whether a difference holds all of the old text and all of the new.
func givesBoth(t *rapid.T, runs []run, was, now string) {
	t.Helper()
	var old, new strings.Builder
	for _, r := range runs {
		if r.is != come {
			old.WriteString(r.text)
		}
		if r.is != gone {
			new.WriteString(r.text)
		}
	}
	if old.String() != was || new.String() != now {
		t.Fatalf("%q to %q", was, now)
	}
}

func TestWordDiffGivesBoth(t *testing.T) {
	sentence := rapid.Custom(func(t *rapid.T) string {
		return strings.Join(rapid.SliceOfN(rapid.SampledFrom([]string{"row", "every ", "4", " 6", "112", "(8, 9)", "(", "st", "\xff", "–", " "}), 0, 30).Draw(t, "words"), rapid.SampledFrom([]string{"", " "}).Draw(t, "between"))
	})
	var kept wordDiffer
	rapid.Check(t, func(t *rapid.T) {
		was, now := sentence.Draw(t, "was"), sentence.Draw(t, "now")
		givesBoth(t, kept.diff(was, now), was, now)
	})
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

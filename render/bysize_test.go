package render

import (
	"bytes"
	"math/big"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gaugewright/dsl"
	"gaugewright/rewrite"
)

// told is a text with its lists taken apart: the values of a list between bars.
func told(text string, counts ...int) string {
	var b strings.Builder
	at := 0
	for _, l := range sizeLists(text, counts...) {
		b.WriteString(text[at:l.values[0].from])
		for _, v := range l.values {
			b.WriteString("|" + text[v.from:v.to])
		}
		b.WriteString("|")
		at = l.end
	}
	return b.String() + text[at:]
}

func TestSizeLists(t *testing.T) {
	for _, k := range []struct {
		sizes      int
		text, want string
	}{
		{3, "cast on 98 (106, 114) sts", "cast on |98|106|114| sts"},
		{3, "98(106,114) sts", "|98|106|114| sts"},
		{5, "8 (8, 9)[9, 10] balls", "|8|8|9|9|10| balls"},
		{5, "S 6 [8, 8, 10, 12] sts", "S |6|8|8|10|12| sts"},
		{4, "32 (36: 40: 44)", "|32|36|40|44|"},
		{3, "every 9th (8th, 7th) round 12 (12, 14) times", "every |9th|8th|7th| round |12|12|14| times"},
		{3, "to 15½ (15 3/4, 16) in [39.5 (40, 40.5) cm]", "to |15½|15 3/4|16| in [|39.5|40|40.5| cm]"},
		{3, "½ (1½, 2) in", "|½|1½|2| in"},
		{2, "to 38 cm [15 in]", "to 38 cm [15 in]"},
		{2, "work 5 rows (the neck row)", "work 5 rows (the neck row)"},
		{3, "6 (8) sts", "6 (8) sts"}, // for sizes that are not these three
		{2, "12 + 12 + 16 (12 + 16 + 16) sts", "|12 + 12 + 16|12 + 16 + 16| sts"},
		{2, "24 + 20 (22) + 24 sts", "24 + |20|22| + 24 sts"},
		{3, "90 – (106, 114", "90 – (106, 114"},
		{3, "90 (, 114)", "90 (, 114)"},
		{2, "k2 (k4)", "k2 (k4)"},
		{3, "98\u00a0(106,\u2009114) sts", "|98|106|114| sts"},
		{3, "cast on 88/96/104 sts", "cast on |88|96|104| sts"},
		{4, "2/4/6/8 times", "|2|4|6|8| times"},
		{3, "1/2 (3/4, 1) in", "|1/2|3/4|1| in"},
		{2, "15 1/2 in", "15 1/2 in"},
		{3, "7 (–, 9) rounds", "|7|–|9| rounds"},
	} {
		if got := told(k.text, k.sizes); got != k.want {
			t.Errorf("%q: %q, not %q", k.text, got, k.want)
		}
	}
}

func TestSizesOfAnInstructionForSome(t *testing.T) {
	src := []byte("```draft\nfabric main: 20 sts and 28 rows to 10 cm\nsizes: S (M, L)\n```\n\n## Band\n\n{Cast on 40 (44, 48) sts}. {Work 4 rows}. {Sizes M and L only: work 2 (4) rows}. {Bind off all sts}.\n")
	p := page(t, converted(t, "x.md", src, nil), Options{})
	mustContain(t, p, `<span class="o o2 o3">Sizes M and L only: work <span class="z z2">2</span><span class="z z3"><i> (</i>4<i>)</i></span> rows</span>`,
		`<li class="o o2 o3"><label><input type="checkbox"> <span>Work (M, L only)</span> <span class="f"><span class="z z2">2</span>`)
}

// bare is markup with its tags taken out.
func bare(m *markup) string { return tags.ReplaceAllString(m.String(), "") }

func FuzzBySize(f *testing.F) {
	for _, s := range []string{"98 (106, 114)", "8 (8, 9)[9, 10]", "12 + 16 (12 + 16)", "15 1/2 (16, 17½) in", "9th (8th)", "½(", "1(2", "6/7/8", "1/2/3/4", "1/2 (3/4, 1)", "–(–,–)", "9 (8", "5\xff (6, 7)"} {
		f.Add(s, 3, 2)
	}
	f.Fuzz(func(t *testing.T, text string, sizes, cut int) {
		if sizes < 0 || sizes > 9 {
			return
		}
		// In two parts, as an instruction comes in stretches.
		cut = min(max(cut, 0), len(text))
		x := bySize{of: [][]int{everySize(sizes)}, bold: "<b>", parts: []part{{text: text[:cut]}, {text[cut:], true}}}
		var m markup
		x.write(&m)
		if got := bare(&m); got != escape(text) {
			t.Fatalf("%q: the words come out as %q", text, got)
		}
		for k := 1; k <= sizes; k++ {
			if n, lists := strings.Count(m.String(), `"z z`+string(rune('0'+k))+`"`), len(sizeLists(text, sizes)); n != lists {
				t.Fatalf("%q: %d values for size %d of %d lists", text, n, k, lists)
			}
		}
	})
}

func TestSizeAnchors(t *testing.T) {
	c := &rewrite.Conversion{}
	for _, n := range []string{"S", "2 yrs", "2-yrs", "all", "Größe 38/40", "…", ""} {
		c.Targets = append(c.Targets, dsl.Target{Name: n, T: new(big.Rat)})
	}
	want := []string{"size.S", "size.2-yrs", "size.2-yrs-2", "size.all-2", "size.Größe-38-40", "size.-2", "size.One-size"}
	if got := SizeAnchors(c); !slices.Equal(got, want) {
		t.Errorf("%q", got)
	}
	c.Targets = c.Targets[:1]
	if got := SizeAnchors(c); got != nil {
		t.Errorf("one size: %q", got)
	}
}

// drawings are the pieces to scale, which a reading copy cannot have.
var drawings = regexp.MustCompile(`(?s)<section class="pieces".*?</section>`)

var numerals = regexp.MustCompile(`\d+(\.\d+)?|[½¼¾]`)

// Everything that a reading copy has in numbers, the page has in the same order, whatever is chosen and where no script runs.
func TestPageHasTheNumbersOfTheReadingCopy(t *testing.T) {
	for name, src := range drafts(t) {
		// A spread written out stands within its sentence in one and below it in the other.
		src = []byte(strings.ReplaceAll(string(src), ", spelled out", ""))
		for _, o := range []Options{{}, {Units: "both"}} {
			c := converted(t, name, src, looser(t, name, src))
			copied, _, _ := bytes.Cut(ReadingCopy(c, o), []byte("\n## "+before)) // in the page these come first
			cells := strings.NewReplacer("</td>", " </td>", "</th>", " </th>")
			read := seen(t, []byte(cells.Replace("<body>"+commonMark(t, copied)+"</body></html>\n")))
			paged := seen(t, []byte(cells.Replace(drawings.ReplaceAllString(string(page(t, c, o)), ""))))
			want, got := numerals.FindAllString(read, -1), numerals.FindAllString(paged, -1)
			made := numerals.FindAllString(tags.ReplaceAllString(made(c, o), ""), -1)
			at := len(numerals.FindAllString(title(c.Draft.File), -1))
			got = slices.Delete(got, at, at+len(made))
			if !slices.Equal(got, want) {
				i := 0
				for i < min(len(got), len(want)) && got[i] == want[i] {
					i++
				}
				t.Errorf("%s %q: of %d and %d numbers the %dth differs:\npage %q\ncopy %q", name, o.Units, len(got), len(want), i, got[max(0, i-5):min(len(got), i+5)], want[max(0, i-5):min(len(want), i+5)])
			}
		}
	}
}

package render

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// drawn is a draft of the folder of drafts, looser than drafted, with its sheets by path.
func drawn(t *testing.T, name string, src []byte) (*rewrite.Conversion, map[string]string) {
	t.Helper()
	c := converted(t, name, src, looser(t, name, src))
	out := map[string]string{}
	for _, s := range Schematics(c, Options{}) {
		out[s.Path] = string(s.Text)
	}
	if len(out) != len(c.Targets) {
		t.Fatalf("%s: %d sheets for %d sizes", name, len(out), len(c.Targets))
	}
	return c, out
}

// strictly reads a sheet as the XML it is.
func strictly(t *testing.T, name, text string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(text))
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			return
		} else if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
	}
}

// box is where a text or a point lies in its picture.
type box struct {
	text           string
	x0, y0, x1, y1 float64
}

var (
	textTag  = regexp.MustCompile(`<g class="(st[^"]*)"( text-anchor="end")?>|<text x="(-?\d+)" y="(-?\d+)">([^<]*)</text>`)
	pathTag  = regexp.MustCompile(`<path class="(s[ow])" d="([^"]*)"/>`)
	pointTag = regexp.MustCompile(`[ML](-?\d+) (-?\d+)`)
)

// letter is the width of a letter in Helvetica, whose metrics Arial and Liberation Sans share, as a share of its size (from memory of
// its published metrics; rounded up).
func letter(r rune, bold bool) float64 {
	switch {
	case strings.ContainsRune("mM¼½¾", r):
		return 0.89
	case strings.ContainsRune("w+×", r):
		return 0.78
	case strings.ContainsRune("il,. ·tfr", r):
		return 0.39
	case strings.ContainsRune("hnodu", r) && bold:
		return 0.612
	}
	return 0.557
}

func boxes(body string) []box {
	var out []box
	size, end := 33.0, false
	for _, m := range textTag.FindAllStringSubmatch(body, -1) {
		if m[1] != "" {
			size, end = 33, m[2] != ""
			if strings.Contains(m[1], "sb") {
				size = 36
			}
			continue
		}
		x, _ := strconv.ParseFloat(m[3], 64)
		y, _ := strconv.ParseFloat(m[4], 64)
		wide := 0.0
		for _, r := range m[5] {
			wide += letter(r, size > 33) * size
		}
		b := box{m[5], x, y - 0.76*size, x + wide, y + 0.22*size}
		if end {
			b.x0, b.x1 = x-wide, x
		}
		out = append(out, b)
	}
	return out
}

// No figure lies on another, on the piece or outside the picture, whatever the draft.
func TestFiguresKeepApart(t *testing.T) {
	figures := 0
	for name, src := range drafts(t) {
		c, _ := drawn(t, name, src)
		all := c.Outlines()
		for _, units := range [][2]grammar.Unit{{grammar.Centimetres, grammar.Inches}, {grammar.Inches, grammar.Centimetres}} {
			for _, pieces := range all {
				for i := range pieces {
					d := draw(&pieces[i], scaleOf(all, onPage), units[0], units[1])
					list := boxes(d.body.String())
					figures += len(list)
					left, right := math.Inf(1), math.Inf(-1)
					for _, p := range pathTag.FindAllStringSubmatch(d.body.String(), -1) {
						for _, at := range pointTag.FindAllStringSubmatch(p[2], -1) {
							x, _ := strconv.ParseFloat(at[1], 64)
							left, right = min(left, x), max(right, x)
						}
					}
					for k, a := range list {
						if a.x0 < 0 || a.y0 < 0 || a.x1 > float64(d.wide) || a.y1 > float64(d.tall) {
							t.Errorf("%s, %s: %q leaves the picture: %v in %d by %d", name, pieces[i].Name, a.text, a, d.wide, d.tall)
						}
						if a.x1 > left && a.x0 < right {
							t.Errorf("%s, %s: %q lies on the piece", name, pieces[i].Name, a.text)
						}
						for _, b := range list[k+1:] {
							if a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1 {
								t.Errorf("%s, %s: %q and %q lie on one another", name, pieces[i].Name, a.text, b.text)
							}
						}
					}
				}
			}
		}
	}
	if figures < 500 {
		t.Errorf("only %d figures were looked at", figures)
	}
}

// Every corner lies where its centimetres say, at the scale of the picture, to half a unit.
func TestDrawnToScale(t *testing.T) {
	corners := 0
	for name, src := range drafts(t) {
		c, _ := drawn(t, name, src)
		all := c.Outlines()
		at := scaleOf(all, onSheet)
		for _, pieces := range all {
			for i := range pieces {
				o := &pieces[i]
				d := draw(o, at, grammar.Centimetres, grammar.Inches)
				for _, p := range pathTag.FindAllStringSubmatch(d.body.String(), -1) {
					shape := &o.Now
					if p[1] == "sw" {
						shape = &o.Was
					}
					points := pointTag.FindAllStringSubmatch(p[2], -1)
					if len(points) != len(shape.Corners) {
						t.Fatalf("%s, %s: %d corners drawn of %d", name, o.Name, len(points), len(shape.Corners))
					}
					x0, _ := strconv.ParseFloat(points[0][1], 64)
					y0, _ := strconv.ParseFloat(points[0][2], 64)
					for k, q := range points {
						corners++
						x, _ := strconv.ParseFloat(q[1], 64)
						y, _ := strconv.ParseFloat(q[2], 64)
						cx := shape.Corners[k].X.Float()
						bx := shape.Corners[0].X.Float()
						cy := shape.Corners[k].Y.Float()
						by := shape.Corners[0].Y.Float()
						per := float64(at) / 10
						if math.Abs((cx-bx)*per-(x-x0)) > 1 || math.Abs((cy-by)*per-(y0-y)) > 1 {
							t.Errorf("%s, %s: a corner at %.2f, %.2f cm is drawn %.0f, %.0f from the first", name, o.Name, cx, cy, x-x0, y0-y)
						}
					}
				}
			}
		}
	}
	if corners < 500 {
		t.Errorf("only %d corners were looked at", corners)
	}
}

// What is drawn is in the table too: each level's counts and lengths.
func TestFiguresAreInTheTable(t *testing.T) {
	for name, src := range drafts(t) {
		c, _ := drawn(t, name, src)
		var m markup
		p := platesOf(c, Options{})
		p.section(&m, p.drawn(), false)
		text := m.String()
		for _, x := range textTag.FindAllStringSubmatch(text, -1) {
			if rows, ok := strings.CutPrefix(x[5], "row "); ok && !strings.Contains(text, "<td>"+rows+"</td>") {
				t.Errorf("%s: row %s is in no table", name, rows)
			}
		}
		if n := strings.Count(text, "<svg "); n == 0 || n != strings.Count(text, "</figcaption>") || strings.Count(text, "<tbody>") != n {
			t.Errorf("%s: %d drawings, %d captions, %d in tables", name, n, strings.Count(text, "</figcaption>"), strings.Count(text, "<tbody>"))
		}
	}
}

func TestSchematicSheets(t *testing.T) {
	looked := map[string]bool{"second-best.md schematics/m.svg": true, "reading-room.md schematics/32.svg": true, "third-pair.md schematics/medium.svg": true, "low-tide.md schematics/pieces.svg": true}
	for name, src := range drafts(t) {
		_, sheets := drawn(t, name, src)
		for path, text := range sheets {
			strictly(t, name+" "+path, text)
			if strings.Contains(text, "http") && strings.Count(text, "http") != 1 {
				t.Errorf("%s %s: fetches something", name, path)
			}
			if !looked[name+" "+path] {
				continue
			}
			delete(looked, name+" "+path)
			golden(t, filepath.Join("testdata", "schematics", strings.TrimSuffix(name, ".md")+"-"+filepath.Base(path)), []byte(text))
		}
	}
	for name := range looked {
		t.Errorf("there is no %s", name)
	}
}

// A V that is parted, worked out on paper: at the point the forty stitches of each side, above it both sides alike.
func TestFiguresOfAParting(t *testing.T) {
	src := "```draft\nfabric main: 20 sts and 28 rows to 10 cm\n```\n\n# Front\n\n{Cast on 80 sts}. {Work 56 rows}.\n" +
		"{Bind off the centre 20 sts, leaving 30 sts each side}. {Work 27 rows}. {Bind off all sts}.\n"
	f, _ := grammar.Parse("front.md", []byte(src))
	d, ds := dsl.Read(f)
	if d == nil {
		t.Fatal(ds)
	}
	c, _ := rewrite.Convert(d, rewrite.Request{})
	var got []string
	for _, l := range levels(&c.Outlines()[0][0].Now) {
		got = append(got, strconv.FormatInt(l.row, 10)+": "+l.stitches()+", "+l.width(grammar.Centimetres))
	}
	want := "0: 80 sts, 40 cm; 56: 30 + 20 + 30 sts, 15 + 10 + 15 cm; 84: 2 × 30 sts, 2 × 15 cm"
	if s := strings.Join(got, "; "); s != want {
		t.Errorf("%s\nnot\n%s", s, want)
	}
}

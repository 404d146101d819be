package render

import (
	"bytes"
	"encoding/xml"
	"io"
	"regexp"
	"strings"
	"testing"

	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// page is the page of a conversion without its script, which must be there once, as it is written, and no other beside it.
func page(t testing.TB, c *rewrite.Conversion, o Options) []byte {
	t.Helper()
	p, err := Page(c, o)
	if err != nil {
		t.Fatal(err)
	}
	before, after, _ := bytes.Cut(p, []byte("<script>"+pageScript+"</script>\n"))
	if string(after) != "</main>\n</div>\n</body>\n</html>\n" {
		t.Fatalf("the script is not where it should be; the page ends with %q", p[max(0, len(p)-200):])
	}
	return append(bytes.Clone(before), after...)
}

var tags = regexp.MustCompile(`<[^>]*>`)

// seen is the text of the pattern as it is seen: what is hidden from sight or shown on asking is left out, and so are the
// choice of a size, the notes and the steps beside the text.
func seen(t testing.TB, p []byte) string {
	t.Helper()
	_, p, _ = bytes.Cut(p, []byte("<body>"))
	d := decoder(append([]byte("<body>"), bytes.TrimSuffix(p, []byte("</html>\n"))...))
	var b strings.Builder
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return b.String()
		}
		if err != nil {
			t.Fatal(err)
		}
		switch tok := tok.(type) {
		case xml.CharData:
			b.Write(tok)
		case xml.StartElement:
			for _, a := range tok.Attr {
				switch a.Value {
				case "was", "sr", "tally", "choose", "skip", "legend", "notes":
					if err := d.Skip(); err != nil {
						t.Fatal(err)
					}
				}
			}
		}
	}
}

func TestPageFindsMarksEverywhere(t *testing.T) {
	for _, k := range []struct{ name, text, see string }{
		{"paragraph", "Now {cast on 98 sts}.", "Now cast on 99 sts."},
		{"two lines", "Now {cast on\n98 sts} and {work 8 rows}.", "Now cast on 99 sts and work 9 rows."},
		{"quotation", "> Now {cast on\n> 98 sts\n> | even} and\n> on.", "Now cast on 99 sts and\non."},
		{"list", "1. One\n   - two {cast on\n     98 sts} so\n   - three {work 8 rows}", "two cast on 99 sts so"},
		{"list of a tab", "-\tNow {cast on\n\t98 sts} so", "Now cast on 99 sts so"},
		{"table", "| a | b |\n| --- | ---: |\n| {98 sts \\| even} | {8 rows} |", "99 sts9 rows"},
		{"head of a table", "| {98 sts \\| even} | b |\n| --- | --- |\n| x | y |", "99 sts"},
		{"heading", "## Cuff, {98 sts}", "Cuff, 99 sts"},
		{"heading with a line under it", "Cuff, {98 sts}\n---", "Cuff, 99 sts"},
		{"emphasis", "**{Cast on 98 sts}** *and {work 8 rows}*", "Cast on 99 sts and work 9 rows"},
		{"words of a link", "[see {98 sts}](https://example.org)", "see 99 sts"},
		{"brace that is none", "\\{98 sts\\} {98 sts}", "{98 sts} 99 sts"},
		{"of site builders", "{{ 98 }} {% 98 %} {98 sts}", "{{ 98 }} {% 98 %} 99 sts"},
		{"letters beyond ASCII", "é 𝄞 {98 sts} é {8 rows}", "é 𝄞 99 sts é 9 rows"},
		{"dash and full stop inside", "a {— 98 sts.}", "a — 99 sts."},
		{"struck out", "~~{98 sts}~~", "99 sts"},
	} {
		for _, eol := range []string{"\n", "\r\n"} {
			for _, bom := range []string{"", "\ufeff"} {
				src := []byte(bom + strings.ReplaceAll(string(small(k.text)), "\n", eol))
				c := grown(t, "x.md", src)
				got := strings.ReplaceAll(seen(t, page(t, c, Options{})), "\r\n", "\n")
				if !strings.Contains(got, k.see) {
					t.Errorf("%s (%q%q): %q is not seen in\n%s", k.name, bom, eol, k.see, got)
				}
			}
		}
	}
}

func TestPageShowsEveryMark(t *testing.T) {
	for name, src := range drafts(t) {
		c := grown(t, name, src)
		p := page(t, c, Options{})
		changed := 0
		for _, m := range c.Marks {
			if m.Changed {
				changed++
			}
		}
		if n := bytes.Count(p, []byte(`<span class="m" tabindex="0">`)); n != changed || n == 0 {
			t.Errorf("%s: %d instructions are marked, %d changed", name, n, changed)
		}
		if strings.ContainsAny(seen(t, p), "{}") && !bytes.ContainsAny(proseOf(t, name, src), "{}") {
			t.Errorf("%s: braces are seen", name)
		}
	}
}

func TestPageTellsWhatWas(t *testing.T) {
	c := grown(t, "x.md", small("{Cast on 98 sts}. Sew."))
	p := page(t, c, Options{})
	mustContain(t, p, `Cast on <b class="n">99</b> sts<span class="was"> Drafted: Cast on <b>98</b> sts</span>`)
}

func TestPageOfAListOfSizes(t *testing.T) {
	src := []byte("```draft\nfabric main: 20 sts and 28 rows to 10 cm\nsizes: S (M, L)\nw = 50 (60, 70) cm\n```\n\n{Cast on 100 (120, 140) sts | w}. {Bind off all sts}.\n")
	c := converted(t, "x.md", src, looser(t, "x.md", src))
	mustContain(t, page(t, c, Options{}),
		`Cast on <span class="z z1"><b class="n">90</b></span><span class="z z2"><i> (</i><b class="n">108</b></span><span class="z z3"><i>, </i><b class="n">126</b><i>)</i></span> sts`,
		`<span class="z z2"><i> (</i><b>120</b></span>`)
	// One size of three at the draft's own gauge is no change of a number.
	c = converted(t, "x.md", src, nil, "M")
	p := page(t, c, Options{Size: "M"})
	mustContain(t, p, "Size M.", "Cast on 120 sts")
	mustLack(t, p, `class="m"`)
}

func TestPageWritesSpreadsOut(t *testing.T) {
	src := []byte("```draft\nfabric main: 20 sts and 28 rows to 10 cm\nsizes: S (M)\n```\n\nStart.\n\n> {Cast on 40 (48) sts}. {Decrease 4 (6) sts evenly, spelled out}, {36 (42) sts}.\n\n" +
		"| a | b |\n| --- | --- |\n| {increase 4 (6) sts evenly, spelled out} | {40 (48) sts} |\n\n{Bind off all sts}.\n")
	c := converted(t, "x.md", src, nil)
	p := page(t, c, Options{})
	mustContain(t, p, "</span> sts.</p>\n<div class=\"spread\"><p>Decrease <span class=\"z z1\">4</span><span class=\"z z2\"><i> (</i>6<i>)</i></span> sts evenly:</p>\n<ul>\n<li class=\"o o1\"><b>S:</b> k", "k2tog",
		" sts evenly (<span class=\"o o1\"><b>S:</b> k")
	wellFormed(t, "spreads", p)
	r := ReadingCopy(c, Options{})
	mustContain(t, r, "Decrease 4 (6) sts evenly (**S:** k", "; **M:** k")
	// One size: inside the sentence.
	c = converted(t, "x.md", src, nil, "S")
	mustContain(t, page(t, c, Options{}), "Decrease 4 sts evenly (k", "increase 4 sts evenly (k")
	mustLack(t, page(t, c, Options{}), "spelled out", "class=\"spread\"")
}

func TestPageIsSelfContained(t *testing.T) {
	for name, src := range drafts(t) {
		c := converted(t, name, src, looser(t, name, src))
		for _, draw := range []func() []byte{func() []byte { return page(t, c, Options{}) }, func() []byte { return changesPageOf(t, c) }} {
			p := draw()
			if !bytes.Equal(p, draw()) {
				t.Errorf("%s: two pages of one conversion differ", name)
			}
			mustLack(t, p, "<script", "<link", "@import", "url(", " src=", " style=", " onclick")
			mustContain(t, p, "<!DOCTYPE html>\n<html lang=\"en\">", `<meta name="viewport"`, "<title>", "<main ", "<header>", `class="skip"`, "prefers-color-scheme:dark", "@media print")
			if n := bytes.Count(p, []byte("<h1")); n != 1 {
				t.Errorf("%s: %d headings of the first rank", name, n)
			}
			if len(p) > 150<<10 {
				t.Errorf("%s: %d bytes", name, len(p))
			}
			wellFormed(t, name, p)
		}
	}
}

// wellFormed says whether every tag that is opened is closed again, in order.
func wellFormed(t *testing.T, name string, p []byte) {
	t.Helper()
	d := decoder(p)
	for {
		if _, err := d.Token(); err == io.EOF {
			return
		} else if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
	}
}

func changesPageOf(t *testing.T, c *rewrite.Conversion) []byte {
	t.Helper()
	return ReviewPage(c.Review(), Options{})
}

// decoder reads HTML as we write it: elements that are never closed, and attributes without a value, are few.
func decoder(p []byte) *xml.Decoder {
	p = regexp.MustCompile(`<(meta|br|hr|img|input)((?: [^>]*)?)>`).ReplaceAll(p, []byte("<$1$2/>"))
	p = regexp.MustCompile(` (checked|hidden)(/?>)`).ReplaceAll(p, []byte(` $1=""$2`))
	d := xml.NewDecoder(bytes.NewReader(p))
	d.Entity = xml.HTMLEntity
	return d
}

func TestPageLetsNoHTMLThrough(t *testing.T) {
	text := "{Cast on 9 sts} <script>alert(1)</script> <b onclick=\"x()\">bold</b><br>line <!-- unseen -->\n\n" +
		"<div onload=\"x()\">\n{work 8 rows}\n</div>\n\n[a](javascript:alert(1)) ![b](data:text/html,x) <javascript:alert(1)>\n\n<!-- a note -->\n"
	c := grown(t, "x.md", small(text))
	p := page(t, c, Options{})
	mustLack(t, p, "<script", "<b onclick", "<div onload", "javascript:alert(1)\"", "unseen", "a note", "data:text")
	mustContain(t, p, "&lt;script&gt;", "<br>line", "&lt;div onload=&quot;x()&quot;&gt;")
	wellFormed(t, "escaped", p)
	u := page(t, c, Options{UnsafeHTML: true})
	mustContain(t, u, "<script>alert(1)</script>", "<div onload=\"x()\">")
	mustLack(t, u, "href=\"javascript:")
}

func TestPageEscapesNames(t *testing.T) {
	c := grown(t, "x.md", small("# A & B <i>\n\n{Cast on 9 sts}"))
	c.Warnings = []string{"<script> & `a<b`"}
	c.Targets[0].Name = "<S>"
	p := page(t, c, Options{Size: "<S>"})
	mustContain(t, p, "&lt;script&gt; &amp; <code>a&lt;b</code>", "Size &lt;S&gt;")
	mustLack(t, p, "<S>")
}

func TestPageHeadings(t *testing.T) {
	for _, k := range []struct{ text, want string }{
		{"# A\n\n## B\n\n### C", "h1 h2 h3"},
		{"# A\n\n# B\n\n## C", "h1 h2 h3"},
		{"## A\n\n#### B", "h1 h2 h3"},
		{"# A\n\n#### B\n\n## C", "h1 h2 h2"},
		{"x", "h1"},
		{"text\n\n# A\n\n## B", "h1 h2"},
	} {
		for _, blockFirst := range []bool{true, false} {
			src := string(small(k.text))
			if !blockFirst {
				src = k.text + "\n\n" + string(small(""))
			}
			var got []string
			for _, m := range regexp.MustCompile(`<(h[1-6])`).FindAllSubmatch(page(t, grown(t, "x.md", []byte(src)), Options{}), -1) {
				got = append(got, string(m[1]))
			}
			if strings.Join(got, " ") != k.want {
				t.Errorf("%q: %v, not %s", src, got, k.want)
			}
		}
	}
}

func TestPageNamesHeadings(t *testing.T) {
	p := page(t, grown(t, "x.md", small("# Cuff, {98 sts | even}\n\n## Été\n\n## Été\n\n## Été 1\n\n## Été\n\n## !\n\n{Cast on 9 sts}")), Options{})
	mustContain(t, p, `id="cuff-98-sts"`, `id="été"`, `id="été-1"`, `id="été-1-1"`, `id="été-2"`, `id="heading"`)
	many := page(t, grown(t, "x.md", small(strings.Repeat("## Again\n", 50_000)+"\n{Cast on 9 sts}")), Options{})
	mustContain(t, many[len(many)-1000:], `id="again-49999"`)
}

func TestPageLeavesOutTheHeadOfSiteBuilders(t *testing.T) {
	p := page(t, grown(t, "x.md", []byte("---\ntitle: Mittens\n---\n\n"+string(small("# A\n\n{Cast on 9 sts}")))), Options{})
	mustLack(t, p, "title: Mittens")
	mustContain(t, p, "<h1", "Cast on ", "<caption>Gauge</caption>")
	// A line across the page is no such head.
	p = page(t, grown(t, "x.md", []byte("---\n\nSome text\n\n---\n\n"+string(small("{Cast on 9 sts}")))), Options{})
	mustContain(t, p, "Some text", "<hr>")
}

func TestPageTables(t *testing.T) {
	p := page(t, grown(t, "x.md", small("| | S | M | L |\n| --- | :-: | ---: | --- |\n| wide | 1 | 2 | 3 |\n\n- [ ] sew\n- [x] knit\n")), Options{})
	mustContain(t, p, `<th scope="row">wide</th>`, `<th scope="col" class="centre">S</th>`, `<td class="right">2</td>`, `tabindex="0"><table>`, `aria-label="to do"`, `aria-label="done"`)
	_, main, _ := bytes.Cut(p, []byte("<main"))
	mustLack(t, main, "<input") // a box of the draft's own text is a sign; no step is here to be ticked
}

func TestPageFileName(t *testing.T) {
	mustContain(t, page(t, grown(t, "drafts/red sock.md", small("{Cast on 9 sts}")), Options{}), "<title>red sock</title>", "<h1>red sock</h1>")
	mustContain(t, page(t, grown(t, "-", small("{Cast on 9 sts}")), Options{}), "<title>Pattern</title>")
}

func FuzzPage(f *testing.F) {
	for _, s := range []string{"{Cast on 9 sts}", "> {cast on\n> 9 sts}\n> | even}", "| {9 sts \\| even} |\n|-|\n", "<div {9 sts}>", "![{9 sts}](x)", "[a {9 sts}]: b", "\t{9 sts}"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		file, diags := grammar.Parse("x.md", small(text))
		if diags.Has(grammar.Error) || file.Blocks == nil {
			return
		}
		c := grown(t, "x.md", small(text))
		p := page(t, c, Options{})
		if !bytes.HasPrefix(p, []byte("<!DOCTYPE html>")) || !bytes.HasSuffix(p, []byte("</html>\n")) || bytes.Contains(p, []byte("<script")) {
			t.Fatalf("%q", p)
		}
		if got, err := applied(string(c.Draft.File.Src), Diff(c, "a", "b")); err != nil || got != string(c.New) {
			t.Fatal(err)
		}
		ReadingCopy(c, Options{})
	})
}

func BenchmarkPage(b *testing.B) {
	for name, src := range drafts(b) {
		if name != "ferryman.md" {
			continue
		}
		c := grown(b, name, src)
		b.Run("page", func(b *testing.B) {
			for b.Loop() {
				page(b, c, Options{})
			}
		})
		b.Run("markdown alone", func(b *testing.B) {
			for b.Loop() {
				if err := markdown().Convert(src, io.Discard); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run("reading copy", func(b *testing.B) {
			for b.Loop() {
				ReadingCopy(c, Options{})
			}
		})
		b.Run("diff", func(b *testing.B) {
			for b.Loop() {
				Diff(c, "a", "b")
			}
		})
	}
}

package grammar

import (
	"bytes"
	"fmt"
	"math/big"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"
	"time"
)

func readDrafts(t testing.TB) map[string][]byte {
	t.Helper()
	list, err := filepath.Glob("testdata/drafts/*.md")
	if err != nil || len(list) == 0 {
		t.Fatalf("no drafts: %v", err)
	}
	out := map[string][]byte{}
	for _, name := range list {
		src, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		out[name] = src
	}
	return out
}

func sayAll(f *File, diags Diagnostics) string {
	var b strings.Builder
	for _, d := range diags {
		line, col := f.Position(d.Span.Start)
		fmt.Fprintf(&b, "%d:%d: %s: %s\n", line, col, d.Severity, d.Summary)
		if d.Detail != "" {
			fmt.Fprintf(&b, "    %s\n", d.Detail)
		}
		for _, r := range d.Related {
			l, c := f.Position(r.Span.Start)
			fmt.Fprintf(&b, "    %d:%d: %s\n", l, c, r.Text)
		}
		if d.WayOut != "" {
			fmt.Fprintf(&b, "    try: %s\n", d.WayOut)
		}
	}
	return b.String()
}

// TestDrafts reads the whole drafts: nothing in them may be refused, and what became of them is in golden files.
func TestDrafts(t *testing.T) {
	for name, src := range readDrafts(t) {
		before := bytes.Clone(src)
		f, diags := Parse(name, src)
		if diags.Has(Error) {
			t.Errorf("%s:\n%s", name, sayAll(f, diags))
		}
		if !bytes.Equal(before, src) {
			t.Errorf("%s: the source was changed", name)
		}
		proveSpans(t, f)
		golden(t, strings.TrimSuffix(name, ".md")+".golden", outline(f, diags))
	}
}

// outline is all that became of a file, as text.
func outline(f *File, diags Diagnostics) string {
	var b strings.Builder
	b.WriteString(sayAll(f, diags))
	for _, k := range f.Blocks {
		fmt.Fprintf(&b, "block %q\n", f.Text(k.Span))
		for _, x := range k.Fabrics {
			fmt.Fprintf(&b, "  %s\n", dump(f, x))
		}
		for _, x := range k.Measures {
			fmt.Fprintf(&b, "  %s\n", dump(f, x))
		}
		if k.Sizes != nil {
			fmt.Fprintf(&b, "  %s\n", dump(f, k.Sizes))
		}
		if k.SizedBy != nil {
			fmt.Fprintf(&b, "  sized by %s\n", dump(f, k.SizedBy))
		}
		if k.Notation != nil {
			fmt.Fprintf(&b, "  notation %s\n", dump(f, k.Notation))
		}
		if k.Swatch != nil {
			fmt.Fprintf(&b, "  %s\n", dump(f, k.Swatch))
		}
	}
	for _, h := range f.Headings {
		fmt.Fprintf(&b, "heading %d %q at %q\n", h.Level, h.Text, f.Text(h.Span))
	}
	for _, m := range f.Marks {
		fmt.Fprintf(&b, "%q heading %d table %v\n", f.Text(m.Span), m.Heading, m.InTable)
		b.WriteString(one1(f, m, nil))
	}
	for _, l := range f.Loose {
		fmt.Fprintf(&b, "loose %q: %s\n", f.Text(l.Span), l.Text)
	}
	for _, s := range f.WrongSide {
		fmt.Fprintf(&b, "wrong side %q\n", f.Text(s))
	}
	return b.String()
}

// proveSpans walks every node of a file by reflection: each span lies inside the file and inside the mark or block that
// holds it, and each number's span holds a spelling of the number.
func proveSpans(t testing.TB, f *File) {
	t.Helper()
	last := 0
	for _, m := range f.Marks {
		if m.Span.Start < last || m.Span.End < m.Span.Start || m.Span.End > len(f.Src) {
			t.Errorf("mark %v is out of order or out of the file", m.Span)
			return
		}
		last = m.Span.End
		if text := f.Text(m.Span); text[0] != '{' || text[len(text)-1] != '}' {
			t.Errorf("mark %q has no braces", text)
		}
		if m.BarSpan != (Span{}) && !strings.HasPrefix(strings.TrimPrefix(f.Text(m.BarSpan), `\`), "|") {
			t.Errorf("%q: the bar is %q", f.Text(m.Span), f.Text(m.BarSpan))
		}
		proveNode(t, f, reflect.ValueOf(m), m.Span, 0)
	}
	last = 0
	for _, b := range f.Blocks {
		if b.Span.Start < last {
			t.Errorf("block %v is out of order", b.Span)
		}
		last = b.Span.End
		proveNode(t, f, reflect.ValueOf(b), b.Span, 0)
	}
	whole := Span{0, len(f.Src)}
	for _, h := range f.Headings {
		inside(t, f, "heading", h.Span, whole)
	}
	last = -1
	for _, l := range f.Loose {
		inside(t, f, "loose", l.Span, whole)
		if l.Span.Start <= last {
			t.Errorf("loose number %q is out of order", l.Text)
		}
		last = l.Span.Start
		first, _, _ := strings.Cut(f.Text(l.Span), "(")
		first, _, _ = strings.Cut(first, "[")
		if _, ok := NumberValue(strings.TrimSpace(first)); !ok {
			t.Errorf("loose number %q is no number", f.Text(l.Span))
		}
	}
	for _, s := range f.WrongSide {
		inside(t, f, "wrong side", s, whole)
	}
}

func inside(t testing.TB, f *File, what string, s, parent Span) bool {
	t.Helper()
	if s == (Span{}) {
		return true
	}
	if s.Start < parent.Start || s.End > parent.End || s.End < s.Start {
		t.Errorf("%s: span %v (%q) is not inside %v (%q)", what, s, f.Text(s), parent, f.Text(parent))
		return false
	}
	return true
}

func proveNode(t testing.TB, f *File, v reflect.Value, parent Span, depth int) {
	t.Helper()
	switch v.Kind() {
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			if _, ok := v.Interface().(*big.Rat); !ok {
				proveNode(t, f, v.Elem(), parent, depth)
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			proveNode(t, f, v.Index(i), parent, depth)
		}
	case reflect.Struct:
		switch x := v.Interface().(type) {
		case Span:
			inside(t, f, "span", x, parent)
			return
		case Num:
			inside(t, f, "number", x.Span, parent)
			if x.Span.Start == x.Span.End {
				if x.Text != "" {
					t.Errorf("number %q has no span", x.Text)
				}
				return
			}
			got, ok := NumberValue(strings.ReplaceAll(f.Text(x.Span), "\n> ", " "))
			if !ok || got.Cmp(x.Val) != 0 {
				t.Errorf("number %q: its span %q says %v, not %v", x.Text, f.Text(x.Span), got, x.Val)
			}
			if got, ok := NumberValue(x.Text); !ok || got.Cmp(x.Val) != 0 {
				t.Errorf("number %q says %v, not %v", x.Text, got, x.Val)
			}
			return
		case Word:
			inside(t, f, "word", x.Span, parent)
			return
		}
		// what a span field covers holds the node's other parts
		own := parent
		if s := v.FieldByName("Span"); s.IsValid() {
			x := s.Interface().(Span)
			if x.Start != x.End && inside(t, f, v.Type().Name(), x, parent) && v.Type().Name() != "Where" && v.Type().Name() != "Step" && v.Type().Name() != "Clause" {
				own = x
				// a second unit stands after its value, the unit of a scattered layout after the whole of it
				if v.Type().Name() == "Value" && (!v.FieldByName("Second").IsNil() || v.FieldByName("Scattered").Bool()) {
					own = parent
				}
			}
		}
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				proveNode(t, f, v.Field(i), own, depth+1)
			}
		}
		if v.Type().Name() == "Value" {
			val := v.Addr().Interface().(*Value)
			if val.Unit != NoUnit && val.UnitSpan.Start < val.UnitSpan.End && !val.Scattered {
				if !(val.NumSpan.End <= val.UnitSpan.Start) {
					t.Errorf("the unit %q stands before its number %q", f.Text(val.UnitSpan), f.Text(val.NumSpan))
				}
			}
		}
	}
}

// TestSpansOfTheTable proves the spans of every phrase of the tables, plain and in the guises that the page can give it.
func TestSpansOfTheTable(t *testing.T) {
	guises := []func(string) string{
		func(s string) string { return "{" + s + "}" },
		func(s string) string { return "> {" + strings.ReplaceAll(s, " ", "\n> ") + "}" },
		func(s string) string { return "- item\n\n  {" + strings.ReplaceAll(s, ", ", ",\n  ") + "}" },
		func(s string) string { return "1. > {" + strings.Replace(s, " ", "\n   > ", 2) + "}" },
	}
	for _, table := range []string{"testdata/phrases.txt", "testdata/natural.txt"} {
		for _, line := range tableLines(t, table) {
			if line[0] == '#' {
				continue
			}
			plain := ""
			for i, guise := range guises {
				text := guise(line)
				if i > 0 && tears(text) {
					continue
				}
				f, diags := Parse("table", []byte(preamble+text+"\n"))
				proveSpans(t, f)
				m := f.Marks[len(f.Marks)-1]
				got := shape(m)
				if i == 0 {
					plain = got
				} else if got != plain {
					t.Errorf("%q is read as\n%s\nnot as\n%s\n%s", text, got, plain, sayAll(f, diags))
				}
			}
		}
	}
}

// tears says whether a line of the guise begins like a list, which Markdown takes it for; or a number is torn in two.
func tears(text string) bool {
	for i, line := range strings.Split(text, "\n") {
		s := strings.TrimLeft(line, " >")
		if i > 0 && (strings.HasPrefix(s, "+") || strings.HasPrefix(s, "-") || strings.HasPrefix(s, "*") || fractionFirst.MatchString(s) || strings.HasPrefix(s, "#") || strings.HasPrefix(s, "=")) {
			return true
		}
	}
	return false
}

var fractionFirst = regexp.MustCompile(`^(\d/\d|[½¼¾])`)

// shape is a mark without its places: what must not depend on how the page wraps it.
func shape(m *Mark) string {
	var b strings.Builder
	var walk func(v reflect.Value)
	walk = func(v reflect.Value) {
		switch x := v.Interface().(type) {
		case Span:
			return
		case *big.Rat:
			if x != nil {
				b.WriteString(x.RatString())
			}
			return
		case ListStyle:
			return
		case Word:
			b.WriteString(x.Key)
			return
		}
		switch v.Kind() {
		case reflect.Pointer, reflect.Interface:
			if v.IsNil() {
				b.WriteString("-")
				return
			}
			b.WriteString(v.Elem().Type().String())
			walk(v.Elem())
		case reflect.Slice:
			for i := range v.Len() {
				walk(v.Index(i))
			}
		case reflect.Struct:
			b.WriteByte('{')
			for i := range v.NumField() {
				if name := v.Type().Field(i).Name; name != "Text" && name != "Heading" && v.Type().Field(i).IsExported() {
					walk(v.Field(i))
					b.WriteByte(' ')
				}
			}
			b.WriteByte('}')
		default:
			fmt.Fprint(&b, v.Interface())
		}
	}
	walk(reflect.ValueOf(m))
	return b.String()
}

// TestPage reads hostile pages; the golden file says what was found on each.
func TestPage(t *testing.T) {
	const block = "```draft\nfabric main: 20 sts and 28 rows to 10 cm\nchest = 90 cm\n```\n"
	pages := []struct{ name, src string }{
		{"byte-order mark and CRLF", "\ufeff```draft\r\nfabric main: 20 sts and 28 rows to 10 cm\r\nchest = 90 cm -- round\r\n```\r\n\r\n# Back\r\n\r\n{cast on 90\r\nsts | chest}\r\n"},
		{"no final newline", block + "{cast on 90 sts}"},
		{"lone carriage returns", "# Back\r\r{cast on 90 sts}\r\r## Front\r\r{work 4 rows}"},
		{"tilde fence with a blank", "~~~ Draft extra words\nchest = 90 cm\n~~~\n"},
		{"fence in a list in a quotation", "> - item\n>\n>   ``` draft\n>   chest = 90 cm\n>   ease = (chest +\n>     4 cm) / 2\n>   ```\n>\n>   {cast on\n>   90 sts | chest}\n"},
		{"fence never closed", "```draft\nchest = 90 cm\n"},
		{"other fences are not read", "```\n{cast on 90 sts}\n```\n\n    {work 4 rows}\n\n`{work 4 rows}` and ``{work `4` rows}``\n"},
		{"HTML is not read", "<div>\n{cast on 90 sts}\n</div>\n\na <span title=\"{work 4 rows}\">b</span> <!-- {work 5 rows} --> {work 6 rows}\n"},
		{"links", "[see {work 4 rows}](http://example.org/{id}) ![{work 5 rows}](x.png) <http://example.org/{id}> https://example.org/{id}\n"},
		{"escaped braces", `a \{cast on 90 sts\} and a stray } here` + "\n"},
		{"templates", "{{ cast on 90 sts }} {% if x %} {work 4 rows} {{< gallery {a} >}} {%\n multi %}\n"},
		{"front matter", "---\ntitle: {x}\ndate: 2020-01-01\n---\n\n{work 4 rows}\n"},
		{"emphasis and headings", "# The **back** of {90 cm} `it`\n\n**{cast on 90 sts}**_{work 4 rows}_\n\nSetext {work 2 rows}\n===\n\n{work 6 rows}\n"},
		{"table", block + "\n| size | {cast on 90 sts \\| chest} |\n| --- | --- |\n| a | {work 4 rows} |\n| {work 5 rows \\| chest, fixed} | `{x}` |\n"},
		{"bar in a table", "| a | b |\n| --- | --- |\n| a | {cast on 90 sts | chest} |\n"},
		{"torn by a list marker", "{cast on 90 sts\n- then 4 more}\n"},
		{"torn by a number", "{divide into 90 sts as back,\n1. sts as front}\n"},
		{"torn by an empty line", "{cast on 90 sts\n\nas back}\n"},
		{"torn by a heading", "{cast on 90 sts\n# Back}\n"},
		{"never closed", "{cast on 90 sts\n"},
		{"brace in brace", "{cast on {90 sts}}\n"},
		{"empty braces", "{} { } {|} {— } {| chest}\n"},
		{"tabs", "-\t{work 4\n\trows}\n\n\t1.\t{work 5 rows}\n"},
		{"columns", "é𝄞\t{decreese 4 sts}\n"},
		{"second bar", "{work 4 rows | fixed | even}\n"},
		{"task list and strike", "- [ ] {work 4 rows}\n- [x] ~~{work 5 rows}~~\n"},
		{"two draft blocks", block + "\n" + "```body\nchest = 93 cm\n```\n"},
		{"swatch", "# Card\n\n```swatch\nfabric main, needles 4.5 mm, flat\nunwashed: 36 sts over 16.4 cm, 16.5 cm, 16.3 cm; 48 rows over 17.1 cm, 17.0 cm\nwashed: 36 sts over 17.0 cm, 17.1 cm, 17.0 cm; 48 rows over 16.2 cm, 16.3 cm\nhung: 48 rows over 17 cm\nweighs 14 g, 25 cm wide, 22 cm tall\n```\n"},
		{"swatch in the round", "```swatch\nfabric colour work, 4 mm needles, in the round\nwashed: 36 sts over 17.0, 17.1, 17.0 cm; 48 rounds over 6 1/2 in\n```\n"},
		{"blocks of all statements", "```draft\nnotation 1\nfabric main: 20 sts and 28 rows to 10 cm, unwashed 21 sts and 27 rows to 10 cm\nfabric fair isle: 24 sts, 26 rounds over 4 in\nsizes: 32 (34: 36)\nsized by hip size\nchest = 88 (96, 104) cm\nease = -10%\nhip size = larger of chest, chest + 4 cm and 90 cm\nwide = 24 rows in fair isle + 2 * (chest - 10%) / 4\ncross-back = chest / 2-1 cm\n```\n"},
		{"sizes that are numbers", "```draft\nfabric main: 24 sts and 32 rows to 4 in\nsizes: 32 (36: 40: 44)\nbust = 32 (36: 40: 44) in\n```\n{32 (36: 40: 44)} {32 (36: 40: 45)} {cast on 32 sts | 32 in} {size 32 only: work 36 rows} {sizes 36 and 40 only: work 2 rows}\n"},
		{"sizes by age", "```draft\nsizes: 2 yrs (4 yrs, 6 yrs)\n```\n{2 yrs (4 yrs, 6 yrs)} {4 yrs} {2 yrs and 6 yrs only: work 2 rows} {sizes 2 yrs only: work 2 rows}\n"},
		{"sizes in a table", "```draft\nfabric main: 20 sts and 28 rows to 10 cm\nsizes: 32 (34)\n```\n\n| size | 32 | 34 |\n| --- | --- | --- |\n| rows | 34 rows | 36 |\n"},
		{"numbers of repeats", "A multiple of 10 + 1; repeats of 12 sts plus 5; in multiples of 8. A repeat of 3 rows, and 4 + 5 sts.\n"},
		{"the second of a pair", "{Hold 34 sts as right front shoulder}. {Hold 40 sts as left front}. {Work left front as right front}. {Bind off left front with left front shoulder}. {Rib 6 rows in rib}.\n"},
		{"loose numbers", "Cast on 90 sts, then k2, p2 for 6 cm; knit 27 sts and 4 more, with 4.5 mm needles and US 7 needles.\nRow 4: k3, knit 12, p to last 3 sts. See Chart B 12 of 2019.\n\nRows 3-6: work 12. Every 4th row. In 2020 I used 5 balls of a 4-ply, 2 x 2 rib, 100% wool.\n\n1. Knit 14 rows.\n"},
		{"wrong side", "Row 1 (WS): purl.\n\nThe next row is a WS row. {Row 1 (WS)}\n\nRow 2 (WS). Next row (wrong side): knit. Next row (RS).\n\nBeginning with a WS row, {work 4 rows}.\n"},
	}
	var b strings.Builder
	for _, p := range pages {
		f, diags := Parse("page.md", []byte(p.src))
		proveSpans(t, f)
		fmt.Fprintf(&b, "== %s\n%s", p.name, outline(f, diags))
	}
	golden(t, "testdata/page.golden", b.String())
}

// TestDiagnostics holds what is said of what cannot be read.
func TestDiagnostics(t *testing.T) {
	var b strings.Builder
	for _, line := range tableLines(t, "testdata/mistakes.txt") {
		if line[0] == '#' {
			continue
		}
		src := "{" + line + "}\n"
		if rest, ok := strings.CutPrefix(line, "draft: "); ok {
			src = "```draft\n" + rest + "\n```\n"
		} else if rest, ok := strings.CutPrefix(line, "swatch: "); ok {
			src = "```swatch\n" + rest + "\n```\n"
		}
		f, diags := Parse("mistake", []byte(preamble+src))
		if !diags.Has(Error) {
			t.Errorf("%q is read without an error", line)
		}
		for _, d := range diags {
			if d.Summary == "" || strings.HasSuffix(d.Summary, ".") {
				t.Errorf("%q: a summary is one line without a full stop: %q", line, d.Summary)
			}
			fmt.Fprintf(&b, "%s\n  at %q: %s\n", line, f.Text(d.Span), d.Summary)
			if d.Detail != "" {
				fmt.Fprintf(&b, "  %s\n", d.Detail)
			}
			for _, r := range d.Related {
				fmt.Fprintf(&b, "  %q: %s\n", f.Text(r.Span), r.Text)
			}
			if d.WayOut != "" {
				fmt.Fprintf(&b, "  try: %s\n", d.WayOut)
			}
		}
	}
	golden(t, "testdata/mistakes.golden", b.String())
}

func TestGrammarText(t *testing.T) { golden(t, "testdata/grammar.ebnf", Grammar()) }

func TestPosition(t *testing.T) {
	src := "\ufeffé𝄞\tb\r\nc\rd\n"
	f := &File{Src: []byte(src)}
	for _, c := range []struct {
		at        string
		line, col int
	}{{"é", 1, 1}, {"𝄞", 1, 2}, {"\t", 1, 3}, {"b", 1, 4}, {"c", 2, 1}, {"d", 3, 1}} {
		off := strings.Index(src, c.at)
		line, col := f.Position(off)
		if line != c.line || col != c.col {
			t.Errorf("%q is at %d:%d, want %d:%d", c.at, line, col, c.line, c.col)
		}
		if back, ok := f.Offset(line, col); !ok || back != off {
			t.Errorf("%d:%d is offset %d, want %d", line, col, back, off)
		}
	}
	if line, col := f.Position(1 << 30); line != 4 || col != 1 {
		t.Errorf("an offset past the end is at %d:%d", line, col)
	}
	if line, col := f.Position(-1); line != 1 || col != 1 {
		t.Errorf("an offset before the start is at %d:%d", line, col)
	}
}

// TestLimits: what is too much is refused with the limit stated, and soon.
func TestLimits(t *testing.T) {
	pages := map[string]string{
		"size":       strings.Repeat("a", MaxSource+1),
		"UTF-8":      "abc\xffdef",
		"quotations": strings.Repeat(">", 100000) + " {work 4 rows}",
		"lists":      strings.Repeat("- ", 50000) + "{work 4 rows}",
		"links":      strings.Repeat("[a](b", 40000),
		"brackets":   strings.Repeat("[", 100000),
		"backticks":  strings.Repeat("` `` ", 100000),
		"columns":    strings.Repeat("|a", 3000) + "\n" + strings.Repeat("|-", 3000) + "\n" + strings.Repeat("|\n", 3000),
		"nesting":    "{90 sts | " + strings.Repeat("(", 300000) + "}",
		"depth":      "{90 sts | " + strings.Repeat("(", 1000) + "chest" + strings.Repeat(")", 1000) + "}",
		"minus":      "{90 sts | " + strings.Repeat("-", 1000) + "chest}",
		"digits":     "{cast on " + strings.Repeat("9", 100) + " sts}",
		"block":      "```draft\na = " + strings.Repeat("(", 5000) + "1" + strings.Repeat(")", 5000) + "\n```\n",
	}
	for name, src := range pages {
		start := time.Now()
		f, diags := Parse(name, []byte(src))
		if !diags.Has(Error) {
			t.Errorf("%s: read without an error", name)
		}
		proveSpans(t, f)
		if d := time.Since(start); d > 5*time.Second {
			t.Errorf("%s: took %v", name, d)
		}
	}
}

// TestProportional: large input that is read takes time in proportion, roughly.
func TestProportional(t *testing.T) {
	if testing.Short() {
		t.Skip("large input")
	}
	pages := map[string]func(n int) string{
		"prose":         func(n int) string { return strings.Repeat("Knit on as before, with no numbers at all.\n", n) },
		"paragraphs":    func(n int) string { return strings.Repeat("Knit on as before.\n\n", n) },
		"marks":         func(n int) string { return strings.Repeat("{work 4 rows} and {90 sts}.\n\n", n) },
		"open braces":   func(n int) string { return strings.Repeat("{", n) },
		"one paragraph": func(n int) string { return strings.Repeat("{work 4 rows}\n", n) },
		"close braces":  func(n int) string { return strings.Repeat("}", n) },
		"templates":     func(n int) string { return strings.Repeat("{{", n) },
		"many names":    func(n int) string { return strings.Repeat("{90 sts | as a}\n\n", n) },
		"distinct names": func(n int) string {
			var b strings.Builder
			for i := range n {
				fmt.Fprintf(&b, "{90 sts | as sleeve %d}\n\n", i)
			}
			return b.String()
		},
		"addresses":       func(n int) string { return strings.Repeat("www.a@b. http://a", n) },
		"entities":        func(n int) string { return strings.Repeat("&a\\", n) },
		"tables":          func(n int) string { return "|a|b|\n|-|-|\n" + strings.Repeat("|{work 4 rows}|\n", n) },
		"delimiters":      func(n int) string { return strings.Repeat("|-|\n", n) },
		"references":      func(n int) string { return strings.Repeat("[a]: b\n\n", n) },
		"quoted":          func(n int) string { return strings.Repeat("> > > Knit on.\n", n) },
		"torn":            func(n int) string { return strings.Repeat("{work\n- ", n) },
		"unknown words":   func(n int) string { return strings.Repeat("{decreese} ", n) },
		"long lists":      func(n int) string { return "```draft\na = 1 (" + strings.Repeat("2, ", n) + "3) cm\n```\n" },
		"long sums":       func(n int) string { return "```draft\na = 1" + strings.Repeat(" + 2", n) + "\n```\n" },
		"long names":      func(n int) string { return "```draft\na = " + strings.Repeat("b ", n) + "\n```\n" },
		"stars":           func(n int) string { return strings.Repeat("*a **b ", n) },
		"open paragraphs": func(n int) string { return strings.Repeat("{work 4 rows\n\n", n) },
	}
	for name, page := range pages {
		took := func(n int) time.Duration {
			src := []byte(page(n))
			start := time.Now()
			Parse(name, src)
			return time.Since(start)
		}
		small, large := took(2500), took(20000)
		t.Logf("%s: %v, eight times as much %v", name, small, large)
		if large > 40*small && large > 2*time.Second {
			t.Errorf("%s: %v became %v for eight times as much", name, small, large)
		}
	}
}

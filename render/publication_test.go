package render

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"math/big"
	"net/url"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// published is a draft at gauges, read anew.
func published(t testing.TB, name string, src []byte, o Options, made time.Time, gauges ...string) *Publication {
	t.Helper()
	f, diags := grammar.Parse(name, src)
	d, more := dsl.Read(f)
	if diags.Has(grammar.Fault) || more.Has(grammar.Fault) {
		t.Fatalf("%s: %s%s", name, Diagnostics(f, diags, false), Diagnostics(f, more, false))
	}
	edition := func(r rewrite.Request) *rewrite.Edition {
		e, why := rewrite.Publish(d, "", r)
		if e == nil {
			t.Fatalf("%s: %s", name, Diagnostics(f, why, false))
		}
		return e
	}
	var others []*rewrite.Edition
	for _, text := range gauges {
		_, r, err := grammar.ParseGaugeRange(text)
		if err != nil {
			t.Fatal(err)
		}
		steps, err := rewrite.GaugeSteps(r)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range steps {
			others = append(others, edition(rewrite.Request{Gauges: []rewrite.AskedGauge{s}}))
		}
	}
	return Published(edition(rewrite.Request{}), others, made, o)
}

func files(t testing.TB, p *Publication) map[string][]byte {
	t.Helper()
	list, err := p.Files()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]byte{}
	for _, f := range list {
		if out[f.Path] != nil {
			t.Fatalf("%s is there twice", f.Path)
		}
		out[f.Path] = f.Text
	}
	return out
}

// around is gauges about the draft's own: the next stitches, and far off on both sides.
func around(t testing.TB, name string, src []byte) []string {
	t.Helper()
	f, _ := grammar.Parse(name, src)
	d, _ := dsl.Read(f)
	over := big.NewRat(10, 1)
	at := func(times *big.Rat) string {
		g := d.Fabrics[0].Gauge
		count := func(perCm *big.Rat) string {
			x := new(big.Rat).Mul(perCm, over)
			return decimals(dsl.RoundTo(x.Mul(x, times), big.NewRat(1, 1)), 0)
		}
		return count(g.Stitches) + " sts and " + count(g.Rows) + " rows to 10 cm"
	}
	return []string{at(big.NewRat(4, 5)), at(big.NewRat(9, 10)), at(big.NewRat(6, 5)), at(big.NewRat(7, 10))}
}

// A small draft with all that an index can have in it, each file looked at by a person before it was taken: at 14 sts a size does
// not work, at 5 sts none does.
func TestGoldenPublication(t *testing.T) {
	src, err := os.ReadFile("testdata/jug.md")
	if err != nil {
		t.Fatal(err)
	}
	p := published(t, "jug.md", src, Options{}, time.Unix(1_790_000_000, 0), "22 sts and 30 rounds to 10 cm", "18 to 20 sts and 25 to 28 rounds to 10 cm", "14 sts and 19 rounds to 10 cm", "5 sts and 7 rounds to 10 cm", "5½ sts to 1 in")
	all := files(t, p)
	for _, name := range []string{"index.html", "measures.html", "counts.html", "counts.csv", "problems.json"} {
		got := all[name]
		for _, css := range []string{styles, indexStyles, cardStyles} {
			got = bytes.Replace(got, []byte(css), nil, 1)
		}
		golden(t, filepath.Join("testdata", "jug", name), got)
	}
	var folders []string
	for name := range all {
		if folder := path.Dir(name); folder != "." && !slices.Contains(folders, folder) {
			folders = append(folders, folder)
		}
	}
	slices.Sort(folders)
	if got := strings.Join(folders, " "); got != "14-sts-19-rounds 18-sts-25-rounds 19-sts-27-rounds 20-sts-28-rounds 22-sts-30-rounds 5.5-sts-to-1-in" {
		t.Error("the folders are", got)
	}
	p = published(t, "jug.md", src, Options{Units: "both"}, time.Time{}, "14 sts and 19 rounds to 10 cm")
	both := p.Index()
	for _, css := range []string{styles, indexStyles, cardStyles} {
		both = bytes.Replace(both, []byte(css), nil, 1)
	}
	golden(t, "testdata/jug/index-both.html", both)
}

// The pages of a publication are those that a conversion by itself gives, and the counts are its counts; the draft's own gauge is
// the draft as it is. Every link leads somewhere.
func TestPublicationIsItsConversions(t *testing.T) {
	compared := 0
	for name, src := range drafts(t) {
		gauges := around(t, name, src)
		p := published(t, name, src, Options{Units: "both"}, time.Time{}, gauges...)
		all := files(t, p)
		table, err := csv.NewReader(bytes.NewReader(all["counts.csv"])).ReadAll()
		if err != nil && all["counts.csv"] != nil {
			t.Fatal(err)
		}
		for _, text := range append(gauges, "") {
			f, _ := grammar.Parse(name, src)
			d, _ := dsl.Read(f)
			var r rewrite.Request
			if text != "" {
				_, said, _ := grammar.ParseGauge(text)
				g, err := dsl.ReadGauge(*said)
				if err != nil {
					t.Fatal(err)
				}
				r.Gauges = []rewrite.AskedGauge{{Gauge: g}}
			}
			c, _ := rewrite.Convert(d, r)
			if c == nil {
				continue // a size does not work: the others are compared in rewrite
			}
			compared++
			folder := p.folderOf(c)
			alone, err := Page(c, Options{Units: "both", Index: "../index.html"})
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(all[folder+"/pattern.html"], alone) {
				t.Errorf("%s at %q: another page than by itself", name, text)
			}
			if !bytes.Equal(all[folder+"/pattern.md"], ReadingCopy(c, Options{Units: "both"})) {
				t.Errorf("%s at %q: another copy than by itself", name, text)
			}
			countsAgree(t, name, c, p, table)
		}
		linksLead(t, name, "index.html", all)
		linksLead(t, name, "counts.html", all)
		linksLead(t, name, "measures.html", all)
		if page := all[p.own().key+"/pattern.html"]; bytes.Count(page, []byte(`href="../index.html"`)) != 1 {
			t.Errorf("%s: its pages do not lead back", name)
		}
	}
	if compared < 4*len(drafts(t)) {
		t.Errorf("only %d conversions were compared", compared)
	}
}

// folderOf finds the folder of a conversion by its gauges.
func (p *Publication) folderOf(c *rewrite.Conversion) string {
	for i := range p.editions {
		if p.editions[i].At[0].To.Same(c.Gauges[0].To) {
			return p.editions[i].key
		}
	}
	return ""
}

// countsAgree looks up each named count of a conversion in the table, cell by cell.
func countsAgree(t *testing.T, name string, c *rewrite.Conversion, p *Publication, table [][]string) {
	t.Helper()
	label := ""
	for i := range p.editions {
		if p.editions[i].key == p.folderOf(c) {
			label = p.editions[i].label
		}
	}
	for _, n := range c.Numbers {
		if n.Name == "" || n.Kind == dsl.Length || n.Kind == dsl.Yarn {
			continue
		}
		found := 0
		for _, row := range table[1:] {
			if row[0] != n.Name || row[2] != n.Piece && row[2] != "" || row[3] != label {
				continue
			}
			found++
			for i, x := range n.To {
				if row[4+i] != x.RatString() {
					t.Errorf("%s at %s: %s is %s in the table, and %s in the pattern", name, label, n.Name, row[4+i], x.RatString())
				}
			}
		}
		if found != 1 {
			t.Errorf("%s at %s: %d rows for %s", name, label, found, n.Name)
		}
	}
}

// However many gauges are offered, no page that lies about them is too heavy for a slow line.
func TestManyGaugesAreLight(t *testing.T) {
	p := published(t, "second-best.md", drafts(t)["second-best.md"], Options{}, time.Time{}, "10 to 50 sts and 14 to 70 rows to 10 cm")
	if len(p.editions) != 42 { // the draft's own is none of the range
		t.Fatalf("%d gauges", len(p.editions))
	}
	for name, text := range map[string][]byte{"index": p.Index(), "measures": p.MeasuresPage(), "counts": p.CountsPage()} {
		if len(text) > 150_000 {
			t.Errorf("the %s of 42 gauges weighs %d bytes", name, len(text))
		}
	}
}

// The same bytes from the same draft, in whatever order the gauges were asked for.
func TestPublicationIsTheSameAgain(t *testing.T) {
	src := drafts(t)["second-best.md"]
	a := files(t, published(t, "second-best.md", src, Options{}, time.Unix(0, 0), "18 to 24 sts and 25 to 32 rows to 10 cm", "5 sts to 1 in"))
	b := files(t, published(t, "second-best.md", src, Options{}, time.Unix(0, 0), "5 sts to 1 in", "24 sts and 32 rows to 10 cm", "18 to 23 sts and 25 to 31 rows to 10 cm"))
	if len(a) != len(b) || len(a) != 5+2*8 {
		t.Errorf("%d files and %d", len(a), len(b))
	}
	for name, text := range a {
		if !bytes.Equal(text, b[name]) {
			t.Errorf("%s is not the same", name)
		}
	}
}

var address = regexp.MustCompile(`(?:href|src)="([^"]*)"`)

// linksLead says of every link of a page that it leads somewhere: to a file beside it, and to a place in that file.
func linksLead(t *testing.T, name, from string, all map[string][]byte) {
	t.Helper()
	var lost []string
	links := address.FindAllStringSubmatch(string(all[from]), -1)
	for _, l := range links {
		file, place, _ := strings.Cut(l[1], "#")
		place, _ = url.PathUnescape(place)
		if file == "" {
			file = from
		}
		text, ok := all[file]
		if !ok || place != "" && !bytes.Contains(text, []byte(`id="`+place+`"`)) {
			lost = append(lost, l[1])
		}
	}
	if len(lost) > 0 || len(links) < 3 && all[from] != nil {
		t.Errorf("%s: of %d links of %s these lead nowhere: %q", name, len(links), from, lost)
	}
}

// A pattern with hostile names is a folder like any other, and nothing of it is taken for mark-up.
func TestPublicationOfHostileNames(t *testing.T) {
	src := []byte("# A <b>\"&\n\n```draft\nfabric up and over: 20 sts and 28 rows to 10 cm\nsizes: S/M (L & XL)\nwidth = 20 (30) cm\n```\n\n{Cast on 40 (60) sts | width, as edge}. {Cast off all sts}.\n")
	p := published(t, "x.md", src, Options{}, time.Time{}, "18 sts and 25 rows to 10 cm")
	p.editions[0].Name = "../../<b>\"&"
	renamed := Published(p.editions[1].Edition, []*rewrite.Edition{p.editions[0].Edition}, time.Time{}, Options{})
	for name, text := range files(t, renamed) {
		if strings.Contains(name, "..") || strings.Count(name, "/") > 1 || strings.HasPrefix(name, "/") {
			t.Errorf("a file is called %s", name)
		}
		if path.Ext(name) == ".html" {
			mustLack(t, text, "<b>\"", "L & XL")
		}
	}
}

// The feed keeps the rules of JSON Feed 1.1 (https://www.jsonfeed.org/version/1.1/, "Top-level", "Items" and "Extensions"): what
// must be there, ids that are strings and differ, an item with some content, times as RFC 3339 has them, own things under a name
// that begins with a low line and a letter.
func TestProblemsAreAFeed(t *testing.T) {
	src, err := os.ReadFile("testdata/jug.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, made := range []time.Time{{}, time.Unix(1_790_000_000, 0)} {
		var feed map[string]any
		p := published(t, "jug.md", src, Options{}, made, "14 sts and 19 rounds to 10 cm", "5 sts and 7 rounds to 10 cm")
		data, err := p.Problems()
		if err != nil || json.Unmarshal(data, &feed) != nil {
			t.Fatal(err)
		}
		if feed["version"] != "https://jsonfeed.org/version/1.1" || feed["title"] == "" {
			t.Errorf("%v, %v", feed["version"], feed["title"])
		}
		items := feed["items"].([]any)
		if len(items) != len(p.Failures()) || len(items) != 3 {
			t.Errorf("%d items for %d failures", len(items), len(p.Failures()))
		}
		ids := map[string]bool{}
		for _, x := range items {
			item := x.(map[string]any)
			id, _ := item["id"].(string)
			if text, _ := item["content_text"].(string); id == "" || ids[id] || !strings.Contains(text, "cannot all hold") {
				t.Errorf("%v", item)
			}
			ids[id] = true
			if at, there := item["date_modified"].(string); there == made.IsZero() {
				t.Errorf("dated %q", at)
			} else if there {
				if _, err := time.Parse(time.RFC3339, at); err != nil {
					t.Error(err)
				}
			}
			if p, _ := item["_problem"].(map[string]any); p["line"] == nil || p["gauge"] == "" {
				t.Errorf("%v", item["_problem"])
			}
		}
	}
	none, err := published(t, "jug.md", src, Options{}, time.Time{}).Problems()
	if err != nil || !bytes.Contains(none, []byte(`"items": []`)) {
		t.Errorf("%v: %s", err, none)
	}
}

// FuzzSlug: a name for an address is one that needs no escaping but for letters beyond ASCII, is its own name, and holds every letter
// and digit of the text in order.
func FuzzSlug(f *testing.F) {
	for _, s := range []string{"18 sts and 25 rows", "Otter blue, second try", "../..", "ÄÖ ½ ﬁ", ".a.", ""} {
		f.Add(s)
	}
	keep := func(s string) string {
		return regexp.MustCompile(`[^\pL\p{Nd}]+`).ReplaceAllString(strings.ToLower(s), "")
	}
	f.Fuzz(func(t *testing.T, s string) {
		got := slug(s)
		if slug(got) != got || strings.ContainsAny(got, `/\#?%&"' `) || strings.HasPrefix(got, ".") || keep(got) != keep(s) {
			t.Fatalf("%q becomes %q", s, got)
		}
	})
}

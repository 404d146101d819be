package render

import (
	"bytes"
	"strconv"
	"strings"

	"gaugewright/rewrite"
)

// secondHeading heads the numbers of the second of a pair.
func secondHeading(s *rewrite.Second) string {
	return strings.ToUpper(s.Name[:1]) + s.Name[1:] + ", at its own gauge"
}

// secondLines are the instructions of the second of a pair, each with what the first has where that is another.
func secondLines(c *rewrite.Conversion, s *rewrite.Second) []string {
	f := c.Draft.File
	var out []string
	for _, x := range s.Says {
		line, _ := f.Position(f.Marks[x.Mark].Span.Start)
		text := "Line " + strconv.Itoa(line) + ": " + x.Second
		if x.First != x.Second {
			text += " (the first: " + x.First + ")"
		}
		out = append(out, text)
	}
	return out
}

// secondGauge says at which gauge the second is worked.
func secondGauge(s *rewrite.Second) string {
	g := s.Gauges[0]
	text := g.Fabric + " at " + gaugeText(g, true)
	return "Worked from the same sentences as the first, " + text + " where the first has " + gaugeText(g, false) + ". Lines are those of the draft."
}

func writeSeconds(b *bytes.Buffer, c *rewrite.Conversion, eol string) {
	for i := range c.Seconds {
		s := &c.Seconds[i]
		if x := b.Bytes(); len(x) > 0 && x[len(x)-1] != '\n' {
			b.WriteString(eol)
		}
		b.WriteString(eol + "## " + escapeMarkdown(secondHeading(s)) + eol + eol + escapeMarkdown(secondGauge(s)) + eol + eol)
		for _, l := range secondLines(c, s) {
			b.WriteString("- " + escapeMarkdown(l) + eol)
		}
	}
}

func secondSections(m *markup, c *rewrite.Conversion) {
	for i := range c.Seconds {
		s := &c.Seconds[i]
		id := "the.second." + strconv.Itoa(i+1)
		m.raw("<section aria-labelledby=\"", id, "\">\n<h2 id=\"", id, "\">")
		m.text(secondHeading(s))
		m.raw("</h2>\n<p>")
		m.text(secondGauge(s))
		m.raw("</p>\n<ul>\n")
		for _, l := range secondLines(c, s) {
			m.raw("<li>")
			m.text(l)
			m.raw("</li>\n")
		}
		m.raw("</ul>\n</section>\n")
	}
}

// seconds writes the second of each pair that has its own gauge as a field of the data.
func (j *jsonWriter) seconds(c *rewrite.Conversion) {
	f := c.Draft.File
	j.raw(",\n  \"seconds\": [")
	for i := range c.Seconds {
		s := &c.Seconds[i]
		j.item(i)
		j.raw(`{"piece":`)
		j.text(s.Name)
		j.raw(`,"gauges":[`)
		for k, g := range s.Gauges {
			j.comma(k)
			j.raw(`{"fabric":`)
			j.text(g.Fabric)
			j.raw(`,"to":`)
			j.gauge(g.To, g.Over)
			j.raw(`,"assumed":`)
			j.yes(g.Assumed)
			j.raw("}")
		}
		j.raw(`],"instructions":[`)
		for k, x := range s.Says {
			j.comma(k)
			line, column := f.Position(f.Marks[x.Mark].Span.Start)
			j.raw(`{"line":` + strconv.Itoa(line) + `,"column":` + strconv.Itoa(column) + `,"first":`)
			j.text(x.First)
			j.raw(`,"second":`)
			j.text(x.Second)
			j.raw("}")
		}
		j.raw("]}")
	}
	j.items(len(c.Seconds))
}

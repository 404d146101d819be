package mark

import (
	"gaugewright/grammar"
)

// kind says what kind of instruction a candidate is, or "" where it only looks like one.
func (f *finder) kind(c *candidate) string {
	m := c.mark
	if m.Fabric != nil && !f.fabricKnown(m.Fabric.Key) {
		return ""
	}
	switch p := m.Phrase.(type) {
	case *grammar.CastOn:
		return f.unless(f.partOfPlace(c), "cast on")
	case *grammar.PickUp:
		return "pick up"
	case *grammar.Work:
		return f.work(c, p)
	case *grammar.Shape:
		if p.Until != nil {
			return "until"
		}
		return "shape"
	case *grammar.Evenly:
		return f.evenly(c, p)
	case *grammar.Repeat:
		return f.repeat(c, p)
	case *grammar.BindOff:
		return f.bindOff(c, p)
	case *grammar.Turn:
		return "short rows"
	case *grammar.Hold:
		return f.unless(!f.holderSaid(c), "hold")
	case *grammar.Divide:
		return "divide"
	case *grammar.Join:
		return f.unless(p.Count == nil && m.RowWord != grammar.Rounds, "join")
	case *grammar.Space:
		return "buttonholes"
	case *grammar.Layout:
		return "layout"
	case *grammar.Statement:
		return f.statement(c, p)
	case *grammar.Close:
		return f.ending(c, p)
	case *grammar.GaugeSaid:
		return "gauge"
	}
	return ""
}

func (f *finder) unless(no bool, kind string) string {
	if no {
		return ""
	}
	return kind
}

func (f *finder) key(i int) string {
	if i < 0 || i >= len(f.w) {
		return ""
	}
	return f.w[i].Key
}

func (f *finder) fabricKnown(key string) bool {
	for _, b := range f.pl.File.Blocks {
		for _, fb := range b.Fabrics {
			if fb.Name.Key == key {
				return true
			}
		}
	}
	return false
}

// partOfPlace says whether the words name a place or a row (`from the cast on edge`), not something to be done.
func (f *finder) partOfPlace(c *candidate) bool {
	switch f.key(c.from - 1) {
	case "from", "the", "to", "of", "after", "before", "your":
		return true
	}
	return false
}

func (f *finder) work(c *candidate, p *grammar.Work) string {
	switch {
	case p.Match != nil || p.Repeats != nil && p.Rows == nil:
		return ""
	case p.Rows != nil && p.Rows.Unit == grammar.NoUnit:
		return ""
	}
	switch f.key(c.from) {
	case "to", "over", "r", "p", "k":
		// `28 rows to 10 cm` is a gauge
		if p.Rows == nil && f.countBefore(c.from) {
			return ""
		}
	}
	switch f.key(c.from - 1) {
	case "fit", "approx", "up", "measures", "measuring":
		return ""
	}
	return "work"
}

// countBefore says whether a count stands just before word i.
func (f *finder) countBefore(i int) bool {
	if i > 0 && f.w[i-1].Kind == grammar.WordToken {
		u := grammar.UnitOf(f.w[i-1].Key)
		return u == grammar.Stitches || u.IsRows()
	}
	return false
}

func (f *finder) evenly(c *candidate, p *grammar.Evenly) string {
	if p.Count == nil && p.To == nil {
		return ""
	}
	return "evenly"
}

func (f *finder) repeat(c *candidate, p *grammar.Repeat) string {
	if p.LastRows == nil && p.Row == nil {
		return ""
	}
	return "repeat"
}

func (f *finder) bindOff(c *candidate, p *grammar.BindOff) string {
	if f.partOfPlace(c) {
		return ""
	}
	if p.Count == nil && p.Centre == nil && len(p.Steps) == 0 {
		// no number at all: only where it stands as an instruction of its own
		switch f.key(c.from - 1) {
		case "", ".", ",", ";", ":", "and", "then", "-", "—", ")":
		default:
			return ""
		}
	}
	return "bind off"
}

var holders = set(`holder holders hold thread string waste scrap spare aside pin safety-pin extra idle`)

// holderSaid says whether what the stitches are put on is said in the words or right after them.
func (f *finder) holderSaid(c *candidate) bool {
	for i := c.from; i < c.to+5 && i < len(f.w); i++ {
		if holders[f.w[i].Key] {
			return true
		}
		if i >= c.to && f.w[i].Kind != grammar.WordToken {
			break
		}
	}
	return false
}

var beforeStated = set(`have leaving making giving total leaves gives makes are be remain — - = : is`)
var afterStated = set(`remain remains remaining rem left total altogether`)
var beforePattern = set(`last first next over within of on to center centre middle k p knit purl work slip sl every each another extra more until per`)

// statement weighs a count that is said.
func (f *finder) statement(c *candidate, p *grammar.Statement) string {
	if p.Value == nil || p.Value.Unit != grammar.Stitches || f.s.Heading {
		return ""
	}
	before, after := f.key(c.from-1), f.key(c.to)
	if afterStated[f.key(c.to-1)] || afterStated[after] || after == "in" && f.key(c.to+1) == "all" || after == "on" && (f.key(c.to+1) == "needle" || f.key(c.to+1) == "needles" || f.key(c.to+2) == "needle" || f.key(c.to+2) == "needles") {
		if before == "last" || before == "next" || before == "first" {
			return ""
		}
		return "statement"
	}
	if beforePattern[before] {
		return ""
	}
	if beforeStated[before] || (before == "(" && after == ")") || (before == "[" && after == "]") {
		return "statement"
	}
	if (before == "" || before == "." || before == ";") && (after == "" || after == ".") {
		return "statement"
	}
	return ""
}

func (f *finder) ending(c *candidate, p *grammar.Close) string {
	if p.Count == nil && p.A == nil {
		if p.How == grammar.FastenOff {
			return ""
		}
		remaining := false
		for i := c.from; i < c.to; i++ {
			switch f.w[i].Key {
			case "remaining", "rem", "all", "stitches", "sts":
				remaining = true
			}
		}
		if !remaining {
			return ""
		}
	}
	return "ending"
}

package rewrite

import "slices"

// Outlines are the pieces of every size that the new version has, in the order of Sizes, each with what it was in the old version
// behind it. Pieces are paired by the instruction they begin with, else by name; what only one version has is Added or Dropped,
// and those that are gone stand last.
func (r *Comparison) Outlines() [][]Outline {
	if r.Conversion != nil {
		return r.Conversion.Outlines()
	}
	was, now := r.versions[0].Outlines(), r.versions[1].Outlines()
	var out [][]Outline
	for _, s := range r.Sizes {
		switch {
		case s.New < 0:
		case s.Old < 0:
			out = append(out, asTheyAre(now[s.New]))
		default:
			out = append(out, r.behind(was[s.Old], now[s.New]))
		}
	}
	return out
}

// asTheyAre are the pieces of a size that the old version does not have: with nothing behind them.
func asTheyAre(pieces []Outline) []Outline {
	out := slices.Clone(pieces)
	for i := range out {
		out[i].Was = Shape{}
	}
	return out
}

// behind puts old pieces behind new ones.
func (r *Comparison) behind(was, now []Outline) []Outline {
	out, taken := asTheyAre(now), make([]bool, len(was))
	take := func(i int, like func(o *Outline) bool) {
		for k := range was {
			if !taken[k] && out[i].Is == Added && like(&was[k]) {
				taken[k], out[i].Is, out[i].Was = true, Same, was[k].Now
				if !out[i].Was.Same(&out[i].Now) {
					out[i].Is = Changed
				}
			}
		}
	}
	for i := range out {
		out[i].Is = Added
		take(i, func(o *Outline) bool { return slices.Contains(r.paired, couple{o.Mark, out[i].Mark}) })
	}
	for i := range out {
		take(i, func(o *Outline) bool { return o.Name == out[i].Name })
	}
	for k := range was {
		if !taken[k] {
			o := was[k]
			o.Is, o.Was, o.Now = Dropped, o.Now, Shape{}
			out = append(out, o)
		}
	}
	return out
}

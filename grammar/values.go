package grammar

// Values calls visit for every value of a phrase that is written in it, in no particular order; implied ones (the 1 of
// `the next row`) are visited too, their spans are empty.
func Values(ph Phrase, visit func(*Value)) { eachValue(ph, visit) }

func eachValue(ph Phrase, visit func(*Value)) {
	v := func(list ...*Value) {
		for _, x := range list {
			if x != nil {
				visit(x)
				if x.Second != nil {
					visit(x.Second)
				}
			}
		}
	}
	clauses := func(list []*Clause) {
		for _, c := range list {
			v(c.Sts, c.Every, c.Times)
		}
	}
	switch p := ph.(type) {
	case *CastOn:
		v(p.Count, p.Rows, p.Rest)
		v(p.Shares...)
	case *PickUp:
		v(p.Count, p.PerSts, p.PerRows)
	case *Work:
		v(p.Rows, p.Length, p.Repeats)
	case *Shape:
		v(p.Sts, p.Until, p.AfterBy)
		clauses(p.Clauses)
	case *Repeat:
		v(p.LastRows, p.Until)
		if len(p.Clauses) == 0 {
			v(p.Times)
		}
		clauses(p.Clauses)
	case *Evenly:
		v(p.Count, p.To, p.InEvery)
	case *BindOff:
		v(p.Count, p.Centre, p.Leaving)
		var last *Value
		for _, s := range p.Steps {
			if s.Sts != last {
				v(s.Sts)
			}
			last = s.Sts
			v(s.Rows, s.Every, s.Times)
		}
	case *Turn:
		for _, s := range p.Steps {
			v(s.Sts, s.Times)
		}
	case *Hold:
		v(p.Count)
	case *Divide:
		for _, x := range p.Parts {
			v(x.Count)
		}
	case *Join:
		v(p.Count)
	case *Panel:
		v(p.Count, p.After)
	case *Space:
		v(p.Count, p.Each, p.Over, p.Before, p.After)
	case *Layout:
		for _, x := range p.Parts {
			v(x.Count)
		}
		v(p.Each)
	case *Statement:
		v(p.Value)
	case *GaugeSaid:
		v(p.Gauge.Stitches, p.Gauge.Rows, p.Gauge.Over)
	case *Amount:
		v(p.Value)
	case *Make:
		v(p.Count)
	case *Close:
		v(p.Count)
	case *Figure:
		v(p.Value)
	case *Spelled:
		v(p.Times)
	case *Resume:
		v(p.Count)
	}
}

// EachName visits the names in an expression, in their order; a fabric is none.
func EachName(e Expr, visit func(Word)) {
	switch e := e.(type) {
	case *NameRef:
		visit(e.Name)
	case *Binary:
		EachName(e.L, visit)
		EachName(e.R, visit)
	case *Neg:
		EachName(e.X, visit)
	case *Choice:
		for _, x := range e.Of {
			EachName(x, visit)
		}
	case *InFabric:
		EachName(e.X, visit)
	}
}

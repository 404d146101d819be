package main

import (
	"bytes"

	"gaugewright/render"
	"gaugewright/rewrite"
)

func explain(p *program, args []string) (int, error) {
	o := newOptions()
	o.target()
	o.text(&o.out, "out")
	o.set.BoolVar(&o.model, "model", false, "")
	rest, err := o.parse(args)
	if err != nil {
		return refused, err
	}
	path, names, err := oneDraft(rest)
	if err == nil {
		err = isFile(o.out, "name a file")
	}
	if err == nil && o.model && len(names) > 0 {
		err = failuref("leave the names out", "--model is the whole problem, not one number of it")
	}
	if err != nil {
		return refused, err
	}

	c, sources, err := p.converted(path, o)
	if err != nil {
		return refused, err
	}
	if o.model {
		var model bytes.Buffer
		if err := c.Model(&model); err != nil {
			return refused, failuref("", "%s", err)
		}
		return done, p.write(o.out, model.Bytes(), sources...)
	}
	reasons, err := rewrite.Explain(c, names)
	if err != nil {
		return refused, failuref("", "%s", err)
	}
	return done, p.write(o.out, render.Explanation(reasons), sources...)
}

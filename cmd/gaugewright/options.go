package main

import (
	"errors"
	"io"
	"path/filepath"
	"sort"
	"strings"

	"github.com/spf13/pflag"

	"gaugewright/grammar"
)

// options is what a command was asked for, not yet read for its meaning. A command declares those it has.
type options struct {
	set *pflag.FlagSet

	gauges, sizes, measures, pins []string
	tighter, swatches             []string
	body, knitted, swatch         string
	to, out, units                string
	rawHTML, model, all           bool
}

func newOptions() *options {
	o := &options{set: pflag.NewFlagSet("", pflag.ContinueOnError)}
	o.set.SetOutput(io.Discard) // messages and usage texts are ours
	o.set.Usage = func() {}
	return o
}

// one is the value of an option that is given once at most.
type one struct {
	to      *string
	allowed []string // nil: anything
	given   bool
}

func (v *one) String() string { return "" }
func (v *one) Type() string   { return "text" }
func (v *one) Set(s string) error {
	switch {
	case v.given:
		return failuref("give it once", "is given twice")
	case s == "":
		return failuref("", "is empty")
	}
	if v.allowed != nil {
		ok := false
		for _, a := range v.allowed {
			ok = ok || a == s
		}
		if !ok {
			return failuref("it may be "+orList(v.allowed), "cannot be %q", s)
		}
	}
	v.given, *v.to = true, s
	return nil
}

func (o *options) text(to *string, name string, allowed ...string) {
	o.set.Var(&one{to: to, allowed: allowed}, name, "")
}

// list declares an option that may be repeated. Its values are taken as they are: they may hold commas.
func (o *options) list(to *[]string, name string) { o.set.StringArrayVar(to, name, nil, "") }

// target declares what a draft is converted to.
func (o *options) target() {
	o.list(&o.gauges, "gauge")
	o.text(&o.swatch, "swatch")
	o.list(&o.tighter, "tighter")
	o.list(&o.sizes, "size")
	o.text(&o.body, "body")
	o.list(&o.measures, "measure")
	o.list(&o.pins, "pin")
	o.text(&o.knitted, "knitted")
}

// parse takes the options out of args and returns what is left: drafts and names.
func (o *options) parse(args []string) ([]string, error) {
	// `--out --to html` would take --to for the path.
	for i := 0; i+1 < len(args) && args[i] != "--"; i++ {
		if f := o.named(args[i]); f != nil && f.NoOptDefVal == "" {
			if name, _, _ := strings.Cut(args[i+1], "="); o.named(name) != nil {
				return nil, failuref("if "+args[i+1]+" is the value, write "+args[i]+"="+args[i+1], "%s needs a value, and what follows it is the option %s", args[i], name)
			}
			i++
		}
	}
	err := o.set.Parse(args)
	if err == nil {
		return o.set.Args(), nil
	}
	var unknown *pflag.NotExistError
	var missing *pflag.ValueRequiredError
	var invalid *pflag.InvalidValueError
	var f *failure
	switch {
	case errors.Is(err, pflag.ErrHelp):
		return nil, err
	case errors.As(err, &unknown):
		if short := unknown.GetSpecifiedShortnames(); short != "" {
			return nil, failuref("options begin with two dashes; if it is a name or a file, put -- before it", "there is no option -%s", short)
		}
		names := o.names()
		try := "the options are --" + strings.Join(names, ", --")
		if near := grammar.Nearest(unknown.GetSpecifiedName(), names); near != "" {
			try = "did you mean --" + near + "?"
		}
		return nil, failuref(try, "there is no option --%s", unknown.GetSpecifiedName())
	case errors.As(err, &missing):
		return nil, failuref("", "--%s needs a value", missing.GetSpecifiedName())
	case errors.As(err, &invalid) && errors.As(err, &f):
		return nil, failuref(f.try, "--%s %s", invalid.GetFlag().Name, f.what)
	case errors.As(err, &invalid):
		return nil, failuref("", "--%s takes no value", invalid.GetFlag().Name)
	}
	return nil, failuref("", "%s", err)
}

// named is the option that an argument is, without a value, or nil.
func (o *options) named(arg string) *pflag.Flag {
	if !strings.HasPrefix(arg, "--") {
		return nil
	}
	return o.set.Lookup(arg[2:])
}

func (o *options) names() (names []string) {
	o.set.VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
	sort.Strings(names)
	return names
}

// oneDraft takes the draft off what the options left; names may follow it.
func oneDraft(rest []string) (draft string, names []string, err error) {
	if len(rest) == 0 {
		return "", nil, failuref("name a file, or - for standard input", "which draft?")
	}
	return rest[0], rest[1:], nil
}

// form is the one form to write, or "" for a folder with all of them. Where --to is given, a new name without an
// extension is a file: one form goes into one file.
func (o *options) form() (string, error) {
	switch {
	case o.to != "":
		return o.to, isFile(o.out, "a folder gets every form: leave --to out, or name a file")
	case o.out != "" && o.out != "-" && isFolder(o.out):
		return "", nil
	}
	switch strings.ToLower(filepath.Ext(o.out)) {
	case ".html", ".htm":
		return "html", nil
	case ".json":
		return "json", nil
	}
	return "draft", nil
}

func orList(n []string) string {
	if len(n) < 2 {
		return andList(n)
	}
	return strings.Join(n[:len(n)-1], ", ") + " or " + n[len(n)-1]
}

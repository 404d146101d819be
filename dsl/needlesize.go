package dsl

import (
	"math/big"
	"strings"
)

// NeedleSize is one size of needles in each way of saying it; "" where there is no such size. Only the millimetres are a
// measurement: the numbers run upwards in the US and ran downwards in the UK, so that a 7 is the same in both and nothing else is.
type NeedleSize struct{ Mm, US, OldUK string }

// needleSizes is the modern table of the trade (as printed on needle gauges), smallest first. A 1917 table pairs the old UK
// sizes with US ones one step away from this; US 17 is also printed for 12.75 mm.
var needleSizes = []NeedleSize{
	{"2", "0", "14"}, {"2.25", "1", "13"}, {"2.75", "2", "12"}, {"3", "", "11"}, {"3.25", "3", "10"}, {"3.5", "4", ""},
	{"3.75", "5", "9"}, {"4", "6", "8"}, {"4.5", "7", "7"}, {"5", "8", "6"}, {"5.5", "9", "5"}, {"6", "10", "4"},
	{"6.5", "10½", "3"}, {"7", "", "2"}, {"7.5", "", "1"}, {"8", "11", "0"}, {"9", "13", "00"}, {"10", "15", "000"},
	{"12", "17", ""}, {"25", "50", ""},
}

// NeedlesOf finds the size that is meant by `4.5 mm`, `US 7`, `US size 10 1/2`, `old UK 7` or `UK 000`, in any order of the words.
// It is not ok where no size of the table is meant, and for a bare number, which may be any of the three.
func NeedlesOf(text string) (size NeedleSize, ok bool) {
	i := needleIndex(text)
	if i < 0 {
		return NeedleSize{}, false
	}
	return needleSizes[i], true
}

// NextNeedles is the size below (by < 0) or above the one that is meant.
func NextNeedles(text string, by int) (size NeedleSize, ok bool) {
	i := needleIndex(text)
	if i < 0 || i+by < 0 || i+by >= len(needleSizes) {
		return NeedleSize{}, false
	}
	return needleSizes[i+by], true
}

// NeedlesFor is the size that would give so many times as few stitches to a width as the one that is meant, and how many sizes of the table
// away it is, smaller ones below zero. It goes by thickness: needles × stitches to a width is nearly the same at both ends of
// categories 2 to 4 of the Craft Yarn Council's table of yarn weights. Hands differ, so it is where to begin, and no promise.
func NeedlesFor(text string, times *big.Rat) (size NeedleSize, steps int, ok bool) {
	i := needleIndex(text)
	if i < 0 {
		return NeedleSize{}, 0, false
	}
	want := new(big.Rat).Mul(needleSizes[i].mm(), times)
	best := i
	off := func(k int) *big.Rat { x := new(big.Rat).Sub(needleSizes[k].mm(), want); return x.Abs(x) }
	for k := range needleSizes {
		if off(k).Cmp(off(best)) < 0 {
			best = k
		}
	}
	return needleSizes[best], best - i, true
}

func (n NeedleSize) mm() *big.Rat {
	x, _ := new(big.Rat).SetString(n.Mm)
	return x
}

func needleIndex(text string) int {
	text = strings.ToLower(text)
	for _, x := range [][2]string{{"10 1/2", "10½"}, {"101/2", "10½"}, {"10 ½", "10½"}, {"10.5", "10½"}} {
		if strings.Contains(text, "us") {
			text = strings.ReplaceAll(text, x[0], x[1])
		}
	}
	text = strings.NewReplacer("mm", " mm ", "us", " us ", "uk", " uk ", "u.s.", " us ", "u.k.", " uk ").Replace(text)
	number, in := "", ""
	for _, word := range strings.Fields(text) {
		switch {
		case word == "mm" || word == "us" || word == "uk":
			if in != "" && in != word {
				return -1 // said in two ways: as it stands
			}
			in = word
		case word == "old" || word == "size" || word == "sizes" || word == "no" || word == "no.":
		case number == "":
			number = word
		default:
			return -1
		}
	}
	if in == "mm" && strings.Contains(number, ".") {
		number = strings.TrimSuffix(strings.TrimRight(number, "0"), ".")
	}
	for i, n := range needleSizes {
		if number != "" && (in == "mm" && number == n.Mm || in == "us" && number == n.US || in == "uk" && number == n.OldUK) {
			return i
		}
	}
	return -1
}

// Text is the size in every way there is: `4.5 mm, US 7, old UK 7`; where there is none, it says so.
func (n NeedleSize) Text() string {
	or := func(name, size string) string {
		if size == "" {
			return "no " + name + " size"
		}
		return name + " " + size
	}
	return n.Mm + " mm, " + or("US", n.US) + ", " + or("old UK", n.OldUK)
}

package units

import (
	"regexp"
	"strconv"
	"strings"
)

// written finds a quantity in a sentence. A number that goes on in letters or
// another unit ("5 min", "g/ste") is none.
var written = regexp.MustCompile(`([-−]?)(\d+(?:\.(\d+))?)( ?)(°C|degC|kPa|mm|g/s|m)($|[^\pL\d/])`)

// Words rewrites the quantities of a sentence into the units that are shown, with
// as many digits as the sentence gave and the unit needs.
func (u Units) Words(s string) string {
	var out strings.Builder
	for {
		at := written.FindStringSubmatchIndex(s)
		if at == nil {
			out.WriteString(s)
			return out.String()
		}
		group := func(n int) string {
			if at[2*n] < 0 {
				return ""
			}
			return s[at[2*n]:at[2*n+1]]
		}
		out.WriteString(s[:at[0]])
		out.WriteString(u.rewritten(group(1) != "", group(2), len(group(3)), group(4), group(5)))
		s = s[at[2*6]:] // what ended the quantity may begin the next
	}
}

func (u Units) rewritten(negative bool, digits string, decimals int, space, unit string) string {
	to, c := u.to(unit)
	v, err := strconv.ParseFloat(digits, 64)
	if err != nil || c == same {
		sign := ""
		if negative {
			sign = "−"
		}
		return sign + digits + space + Sign(unit)
	}
	if negative {
		v = -v
	}
	return number(rounded(to, c.of(v)), max(decimals, c.decimals)) + space + Sign(to)
}

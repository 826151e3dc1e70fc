package speech

import "regexp"

// British spellings that American voices do not know, as they would spell them.
var respelt = map[*regexp.Regexp]string{
	regexp.MustCompile(`\b([Vv])apour`):    "${1}apor",
	regexp.MustCompile(`\b([Cc])arburett`): "${1}arburet",
}

// Pronounceable is a text as the speech programs say it right.
func Pronounceable(text string) string {
	for word, spelling := range respelt {
		text = word.ReplaceAllString(text, spelling)
	}
	return text
}

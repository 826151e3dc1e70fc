package fonts

import _ "embed"

// The same letters with TrueType outlines, for documents: a PDF's writer embeds
// those and not the others.
var (
	//go:embed Inter-Regular.ttf
	RegularTrueType []byte
	//go:embed Inter-SemiBold.ttf
	SemiBoldTrueType []byte
)

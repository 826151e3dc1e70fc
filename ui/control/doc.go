// Package control has the few things to press that the screens outside a run
// are made of: buttons, choices, steppers and rows, in the program's own dress.
//
// Each is a toolkit widget: it can be reached with Tab, pressed with Space or
// Enter, and shows where the focus is by a line and not by colour alone. Give
// each its [theme.Tokens]; nothing here looks at the toolkit's own theme.
package control

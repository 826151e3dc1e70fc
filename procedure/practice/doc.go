// Package practice says what to practise next: which flow, which of its steps
// have most to gain, and when each is due before it fades.
//
// Call [Next] with what has been flown. [Forecasts] gives every step's chance
// alone; [Equation] and [Activation] are the two published models of forgetting
// behind it and beside it.
//
// Promises: the package is pure; the same history at the same moment gives the
// same suggestions; every suggestion says its reason in words and numbers, and
// shows how uncertain it is.
//
// What it follows, and where from: prompts in every run harm what is kept, so
// they fade (Salmoni, Schmidt & Walter 1984); practice that is spaced holds
// better than practice that is massed (Latimier, Peyre & Ramus 2021); a weak
// part is drilled with its neighbours and then the whole (Wickens et al. 2013);
// what somebody believes to remember is no evidence (Childs, Spears & Prophet
// 1983). The models' parameters come from other tasks: treat a chance as a rank,
// not as a promise.
//
// Times are in days unless they are [time.Time].
package practice

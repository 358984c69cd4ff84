package sheet

// Divide splits an amount by weights to the last hundredth.
var Divide = divide

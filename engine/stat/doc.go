// Package stat holds the statistics of repeated readings and the
// distributions of the GUM and JCGM 101, over plain floats without units:
// Type A statistics, quantiles of Student's t, the normal and the chi-squared
// distribution, samplers of standard distributions for the Monte Carlo method,
// and coverage intervals of its output.
package stat

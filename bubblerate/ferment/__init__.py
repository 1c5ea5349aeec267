"""From the rows of one jar to a posterior: tail, evidence, priors, likelihood, fit, forecast.

Sums only: no sentence for a person, and no opinion on what to do.
"""

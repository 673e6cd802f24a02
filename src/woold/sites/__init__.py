"""Many trials into one honest claim.

Everything here works on the *effect* of a site, -ln(film with the candidate / film with the
baseline): zero when nothing is saved, larger when more is, and additive where savings multiply.
``saving_of`` and ``effect_of`` go between the two.
"""

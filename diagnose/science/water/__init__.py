"""Brewing water: units, saturation with chalk, judgement, the published table, blending, dosing and descaling.

Hardness and alkalinity are two things: hardness is calcium and magnesium, alkalinity is what neutralises acid. Both
are counted in mg/L as calcium carbonate, written `mg_l_caco3`, and an amount of an ion is written `calcium_mg_l`.
"""

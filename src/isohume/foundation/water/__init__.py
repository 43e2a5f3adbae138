"""Water vapour: saturation pressure, dew and frost point, latent heat, and the warm or cold sample."""

from isohume.foundation.water.dew_point import a_w_from_dew_point, dew_point, u_a_w_from_dew_point
from isohume.foundation.water.iapws_if97 import saturation_pressure_fast, saturation_temperature
from isohume.foundation.water.ice import (
    A_W_OF_ICE_UNCERTAINTY,
    a_w_from_frost_point,
    a_w_of_ice,
    frost_point,
    sublimation_pressure,
)
from isohume.foundation.water.latent_heat import latent_heat
from isohume.foundation.water.mismatch import (
    mismatch_error,
    sensitivity_per_k,
    tolerable_excess_k,
    would_condense,
)
from isohume.foundation.water.wagner_pruss import saturation_pressure, saturation_pressure_slope

__all__ = [
    "A_W_OF_ICE_UNCERTAINTY",
    "a_w_from_dew_point",
    "a_w_from_frost_point",
    "a_w_of_ice",
    "dew_point",
    "frost_point",
    "latent_heat",
    "mismatch_error",
    "saturation_pressure",
    "saturation_pressure_fast",
    "saturation_pressure_slope",
    "saturation_temperature",
    "sensitivity_per_k",
    "sublimation_pressure",
    "tolerable_excess_k",
    "u_a_w_from_dew_point",
    "would_condense",
]

from measurements.models.gauge import Calibration, Gauge, GaugeRecall, GaugeUse
from measurements.models.plan import Characteristic, CharacteristicClass
from measurements.models.reading import OUT, Advised, Reading, ReadingInput, Sheet, VerdictWord, Voiding

__all__ = [
    "OUT",
    "Advised",
    "Calibration",
    "Characteristic",
    "CharacteristicClass",
    "Gauge",
    "GaugeRecall",
    "GaugeUse",
    "Reading",
    "ReadingInput",
    "Sheet",
    "VerdictWord",
    "Voiding",
]

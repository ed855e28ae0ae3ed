"""A job on a checked cloth with a border and a remnant, for what readers of a layout file are told."""

from marker.model.fabric import Border, Fabric, Print, Remnant
from marker.model.job import Job

REMNANT_JOB = Job(
    pattern="Oar bag",
    size="M",
    view="B",
    pieces=(),
    fabrics={
        "fabric": Fabric(
            "Checked canvas",
            1400.0,
            nap=True,
            print=Print("check", 90.0, 60.0, (30.0, 20.0), even_across=False),
            border=Border("upper", 120.0),
            remnants=(
                Remnant(
                    "left from the sail bags",
                    (
                        (0.0, 0.0),
                        (900.0, 0.0),
                        (900.0, 400.0),
                        (500.0, 400.0),
                        (500.0, 700.0),
                        (0.0, 700.0),
                    ),
                    (((100.0, 100.0), (150.0, 100.0), (150.0, 150.0), (100.0, 150.0)),),
                ),
            ),
        )
    },
)

from stemlore.rules import Cite, Rule, constant

RULES = [
    Rule(
        id="xb.wheel.odd",
        title="What no tree can say",
        subject="position",
        check=constant(True),
        body=lambda view: view.load("tyre.pressure") is not None,
        reads=("tyre.pressure",),
        tie="workshop",
        basis="practice",
        gravity="advise",
        cite=Cite("act", "art. 3"),
    )
]

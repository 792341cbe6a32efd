"""What a reference says of verdicts."""

# The book's own choice of what is still among a sheet's rows, and of what is near them.
AMONG, NEAR = 1.02, 1.6


def at_most(about, answer, limit):
    """An answer that may be at most so much; None where nobody published it."""
    return {about: {"answer": answer, "limit": limit, "side": "most"}}


def fitted_to(rows, point):
    """Whether a point lies among the rows that a model was fitted to, near them, or far from what it knows."""
    spans = [(min(column), max(column)) for column in zip(*rows)]

    def inside(stretch):
        return all(low / stretch <= at <= high * stretch for (low, high), at in zip(spans, point))

    word = "within" if inside(AMONG) else "borderline" if inside(NEAR) else "cannot tell"
    return {"What the model was fitted to": word}

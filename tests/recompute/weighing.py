"""A weighing sheet that adds up: weights in whole steps of the balance."""

from fractions import Fraction


def apportioned(amounts, all_of_it, batch, step, taker):
    """The weight of each amount, amount × batch ÷ all, as multiples of the step that add up to the batch.

    The line that takes the balance takes what is left; without one, or where less than nothing would be left for it, all are
    rounded down and the missing steps go to the largest remainders, of equal ones to the earlier.
    """
    if not all_of_it:
        return [Fraction(0) for _ in amounts]
    exact = [amount * batch / all_of_it / step for amount in amounts]
    whole = round(batch / step)
    if taker is not None:
        rounded = [round(weight) for weight in exact]
        rest = whole - sum(rounded) + rounded[taker]
        if rest >= 0:
            rounded[taker] = rest
            return [weight * step for weight in rounded]
    steps = [weight.numerator // weight.denominator for weight in exact]
    order = sorted(range(len(exact)), key=lambda at: (steps[at] - exact[at], at))
    for at in order[: max(whole - sum(steps), 0)]:
        steps[at] += 1
    return [count * step for count in steps]

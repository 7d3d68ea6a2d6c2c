"""Where on a lot the pipe can come out."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    # The answer.
    "nowhere_ever": "Gravity does not bring this pipe to any place in the yard where an outlet is "
    "looked for.",
    "nowhere_ever_asked": "Gravity does not bring this pipe to any place asked for.",
    "nowhere": "Nowhere in the yard: at the best place {amount} of fall is missing.",
    "nowhere_asked": "At no place asked for: at the best place {amount} of fall is missing.",
    "at_the_place": "It can come out at the place asked for, with up to {amount} of fall to spare.",
    "at_places": "It can come out at {met} of the {count} places asked for, with up to {amount} "
    "of fall to spare.",
    "on_part": "It can come out on about {percent} % of the ground where a pipe may lie, with up "
    "to {amount} of fall to spare.",
    "on_little": "It can come out on under 1 % of the ground where a pipe may lie, with up to "
    "{amount} of fall to spare.",
    "routes_decide": "Each route's own plan decides.",
    # Routes: what one is chosen for, and what else it is.
    "route.asked": "To the place you asked for",
    "route.shortest": "Shortest",
    "route.most_spare": "Most fall left over",
    "route.least_dig": "Easiest dig that keeps half of that fall",
    "route.nearest_miss": "Comes nearest",
    "route_also.asked": "to the place you asked for",
    "route_also.shortest": "shortest",
    "route_also.most_spare": "most fall left over",
    "route_also.least_dig": "easiest dig that keeps half of that fall",
    "route_also.nearest_miss": "comes nearest",
    # Of a place.
    "here": "The pipe can come out here, with {amount} of fall to spare.",
    "here_if": "The pipe can come out here if a usual value gives way, with {amount} of fall to "
    "spare.",
    "any_changes": "Comes out here only with more changes of grade than asked for, by all that was "
    "tried.",
    "not_laid": "Comes out here with as many changes of grade as that takes. On so large a lot no "
    "line was laid to each place: a route's own plan decides.",
    "not_here": "The pipe comes here too deep to come out: {amount} of fall is missing.",
    "why.near_start": "Too near the start to look for an outlet.",
    "why.too_deep": "The trench would have to be deeper than its limit on the way here.",
    "why.closed_off": "No way leads here past what is avoided, the lot line and the ground's "
    "shape.",
    "why.past_unknown": "Elevations are missing on the way here or right beside it, so it is not "
    "known whether the pipe can come out here.",
    "why.avoided": "To be avoided, or within the clearance of it.",
    "why.unknown": "The ground is not known here.",
    "why.outside": "Outside the lot line.",
    # Of an area.
    "band": "Can come out, with {band} of fall to spare.",
    "band_if": "Can come out if a usual value gives way, with {band} of fall to spare: the "
    "route's own plan says which.",
    "band_short": "Too deep to come out: {band} of fall is missing.",
    "band.between": "{least} to {most} {unit}",
    "band.from": "{least} {unit} or more",
    "chance.no": "No: as good as the ground is known, it comes out fewer than 1 time in 20.",
    "chance.survey_first": "Survey first: less likely than not by this ground.",
    "chance.likely": "Likely, but the ground's errors could turn it: check by survey.",
    "chance.sure": "Sure: as good as the ground is known, it comes out 19 times in 20 or more.",
}

"""The cautions, each shown where the matter comes up.

They say what is usual and defer to those who set the limits. Common practice, no source.
"""

CAUTIONS: dict[str, str] = {
    "hot": ("Tires, wheels and brakes are hot after a run: gloves on, keep clear of the discs."),
    "stands": (
        "Engine off, wheels chocked, car on stands before anyone reaches under it; never trust a "
        "jack alone."
    ),
    "inflation": (
        "Stay between the lowest and highest pressure the tire maker gives; stand beside, not in "
        "front of, a tire being inflated, and never stretch a tire past its size to gain stagger."
    ),
    "ballast": (
        "Ballast must be bolted down and marked as the sanctioning body's rules require; weigh the "
        "car again after moving it."
    ),
    "loosening": (
        "This frees the car up. First laps at reduced speed until the driver trusts the rear; stop "
        "if it steps out."
    ),
    "leak": (
        "Do not run a tire that may be losing air until it has been checked, valve and rim too, "
        "and set again; if you cannot find the cause, take the tire off."
    ),
    "heat": (
        "A tire far above its working range can blister or fail: look it over before it goes out "
        "again, and ask the tire maker if in doubt."
    ),
    "spoiled": (
        "After locked brakes or a swerve look the car and the tires over (flat spots, cuts) before "
        "the next run."
    ),
    "short": (
        "So few laps do not bring the tires to temperature: run all of them next time; if "
        "something brought the car in, look at that first."
    ),
    "rules": (
        "The rules of the track and the sanctioning body and the limits of the tire and car maker "
        "come first; if you are not sure, ask a qualified person."
    ),
}

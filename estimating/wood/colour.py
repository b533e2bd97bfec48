"""How light a wood's colour is to the eye."""


def lightness(colour: str) -> float:
    """CIE lightness L* of a colour written #rrggbb, 0 black to 100 white.

    Errors: ValueError for what is no such colour.
    Source: sRGB to luminance, IEC 61966-2-1; L* = 116 f(Y) - 16 with f of CIE 15 (ISO/CIE 11664-4).

    >>> round(lightness("#FFFFFF")), round(lightness("#777777")), round(lightness("#000000"))
    (100, 50, 0)
    """
    if len(colour) != 7 or colour[0] != "#":
        raise ValueError(f"not a colour as #rrggbb: {colour!r}")
    red, green, blue = (_linear(int(colour[at : at + 2], 16) / 255) for at in (1, 3, 5))
    luminance = 0.2126 * red + 0.7152 * green + 0.0722 * blue
    cube = (6 / 29) ** 3
    root = luminance ** (1 / 3) if luminance > cube else luminance / (3 * (6 / 29) ** 2) + 4 / 29
    return 116 * root - 16


def _linear(value: float) -> float:
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4

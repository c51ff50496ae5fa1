"""What the demo's page says of each piece of work and of each picture."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Caption:
    """What is seen on a picture, what to look at, and the parts of the work that it shows (none: all of it).

    A part is the name of a run or a piece in the commands, and in a job file the name or the heading of a table.
    """

    seen: str
    told: str
    parts: tuple[str, ...] = ()


# By the name of each scene: its heading, and what it is about.
TITLES = {
    "tablecloth": (
        "Round tablecloth",
        "1600 mm across, drawn as one quarter on two folds: whole scallops all round, with a crest on each fold.",
    ),
    "napkin": (
        "Square napkin",
        "420 mm square, drawn in inches on a scaled page: each corner is wrapped by a scallop of its own.",
    ),
    "front": (
        "Waistcoat front with its allowance on",
        "The outline carries 15 mm of seam allowance; the scallops are fitted on the stitching line inside it.",
    ),
    "waistcoat": (
        "Staff waistcoat",
        "Scallops along the whole hem, over darts and side seam, and round the armholes; shaped facings, and a laced "
        "front.",
    ),
    "valance": (
        "Window valance",
        "A straight edge with an eyelet in each scallop for a cord, below a bought lace whose repeat is fixed.",
    ),
    "apron": (
        "Half apron",
        "The skirt is pleated onto a shaped band; the scallops of the pocket's flap are half as wide as the hem's.",
    ),
    "felt": (
        "Bunting and a felt tea cosy",
        "Open lines for a flag and a swag, and a cosy in felt: no seam allowance, and cards to trace the scallops by.",
    ),
}

# By the name of each picture.
CAPTIONS = {
    "tablecloth": Caption(
        "A quarter circle on two folds with scallops round its edge, its facing, a card and the legend",
        "The quarter, its facing on the same folds, and the card to trace by.",
    ),
    "tablecloth-close": Caption(
        "The rim of the tablecloth at a fold: half a scallop, then whole ones, with clips, wedges and a straight cut",
        "Half a scallop on the fold becomes a whole one when the cloth is opened. The cloth is cut straight, 10 mm "
        "beyond the crests, and trimmed after sewing.",
        ("hem",),
    ),
    "napkin": Caption(
        "A square with fourteen scallops along each side, one of them round each corner",
        "Thirteen scallops a side, and one round each corner.",
    ),
    "napkin-close": Caption(
        "The corner of a trimmed napkin, one scallop wrapped round it",
        "The scallop that wraps the corner has the same radius as its neighbours.",
    ),
    "front": Caption(
        "A waistcoat front with a line of scallops inside its hem and another inside its armhole",
        "Both lines stand inside the allowance. The armhole's crests lie on the stitching line, so that none pushes "
        "into the arm.",
    ),
    "front-close": Caption(
        "The hem of the front: eight scallops that begin and end on the stitching lines of the neighbouring edges",
        "Eight scallops from stitching line to stitching line.",
        ("hem",),
    ),
    "waistcoat": Caption(
        "Back and front of the waistcoat with cutting lines, facings, the lacing as worn, an underlay and the legend",
        "Everything that is cut: pieces, facings, cards, and the lacing as worn with its underlay.",
    ),
    "waistcoat-close": Caption(
        "The back's hem from the fold over a dart to the side seam, with clips, wedges and cutting line",
        "The back's hem: from the fold, over the open dart, to the side seam.",
        ("hem",),
    ),
    "waistcoat-hem-flat": Caption(
        "The hem of the waistcoat laid flat as sewn, from the fold to the front edge",
        "The hem as it will lie once sewn. The scallops are fitted here, and each piece gets its own.",
        ("hem",),
    ),
    "waistcoat-pages": Caption(
        "Three printed pages: two squares to measure with a plan and a legend, and the first two pages of the pattern",
        "The first pages at full size: measure the squares before you cut; the diamonds tell which two pages meet.",
        ("[paper]",),
    ),
    "waistcoat-armhole-flat": Caption(
        "The armhole laid flat as sewn: a loop over the shoulder and the side seam",
        "A loop over two seams; the crests lie on the drawn edge.",
        ("armhole",),
    ),
    "waistcoat-valley": Caption(
        "Two valleys of the hem, large: the clip ends just short of each, wedges lie in the allowance",
        "Every valley is clipped, and wedges are taken out of the allowance before the edge is turned.",
        ("[defaults.finish]", "hem"),
    ),
    "waistcoat-join": Caption(
        "Hem of back and front at the side seam: stitching line, clips, wedges and cutting lines",
        "Where back and front meet at the side seam: a valley is held there, and the cut runs on over the allowance.",
        ("hem",),
    ),
    "waistcoat-dart": Caption(
        "The hem at the back's waist dart, open: the scallop that passes over the dart is parted by its legs",
        "The dart's cap is cut so that it lies under the scallop once the dart is folded.",
        ("hem",),
    ),
    "waistcoat-corner": Caption(
        "The lower corner of the front with the last scallop, the lowest eyelet and the cutting line",
        "The last scallop ends at the front edge; the lowest eyelet keeps its distance.",
        ("hem", "closing"),
    ),
    "waistcoat-facing": Caption(
        "The hem's facing in one piece across the side seam, with notches, grain and label, and two cards",
        "The hem's facing: darts closed, in one piece over the side seam, on the fold at the centre back.",
        ("hem",),
    ),
    "valance": Caption(
        "A long straight panel with fifteen scallops, an eyelet in each, the lace's place above and the cord below",
        "Fifteen scallops with their eyelets, the place of the lace, and the cord drawn shorter.",
    ),
    "valance-close": Caption(
        "The left end of the valance: scallops with eyelets, marks of each repeat of the lace, 2 mm to take in",
        "Each repeat of the lace is marked; 2 mm are taken in at either side, so that it ends with a whole one.",
        ("hem",),
    ),
    "apron": Caption(
        "Band, skirt and flap of the apron with cutting lines, pleats and scallops",
        "Band, skirt and flap, ready to be cut.",
    ),
    "apron-close": Caption(
        "The left half of the skirt's waist with three pleats, below the band with its notch at the middle",
        "Three knife pleats a side, folded toward the centre; what is over is eased in.",
        ("[[match]]",),
    ),
    "apron-flap": Caption(
        "The pocket's flap with eight scallops along its curved edge",
        "The flap's scallops are half as wide as the hem's.",
        ("flap",),
    ),
    "felt": Caption(
        "A pointed flag and a swag as open lines, a tea cosy with scallops round its dome, and cards to trace by",
        "The flag and the swag are lines, not outlines; the cosy has a crest at its top.",
    ),
    "felt-close": Caption(
        "A flag: two straight sides with seven scallops each, and one wrapped round its point",
        "Seven scallops a side, and one wrapped round the point.",
        ("flag",),
    ),
    "felt-cards": Caption(
        "Three cards: a strip of three scallops, the scallop of the flag's point, and one scallop of the cosy",
        "Cards to cut from cardboard and trace round.",
        ("flag", "cosy"),
    ),
}

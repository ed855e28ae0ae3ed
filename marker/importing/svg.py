"""SVG drawings: every closed path is a piece, and plain words say what everything is.

CONVENTION
==========

A drawing says what it means in *words*, written where the drawing program lets people write them. The words of
an object or of a group are its title (the ``<title>`` inside it), or else its label (an attribute called
``label`` in any namespace), or else its ``id``. In an id, ``-`` and ``_`` stand for spaces, and a number that was
added at the end to keep ids apart is dropped from marks (``grain-2`` is a grain line, ``notch-a-3`` is a notch
a). Automatic ids such as ``path12`` or ``layer1`` say nothing. Words may also be *text drawn on the piece*, as
on a paper pattern. Several phrases are divided by ``;`` or a line break. Capitals do not matter.

What an object is (said by itself, or else by the nearest group around it that says so):

    outline         the edge of a piece; a closed path that says nothing else is one anyway
    grain           a line from the tail to the head of the grain arrow; the head is the top of the garment
    fold            a straight line on the edge that lies on the fold
    notch NAME      a mark on the edge: where its line meets the edge, or its middle; NAME may be left out
    drill           a mark inside the piece, at the middle of the object
    line            a line inside the piece to mark and not to cut; open paths that say nothing are lines anyway
    region NAME     a closed path: a part of the piece that can be cut on its own
    test square 100 mm    a square to check the scale on; any length may stand there
    ignore          not part of the pattern (frames, legends, photographs under the drawing)

About a piece (said by its outline, by a group that holds that one outline only, or by text on the piece):

    Front                       any other words: what the piece is called (or: name Front)
    number 3                    what views call it
    size M                      the size it is drawn in; on a group, of everything in it; none: the same in all
    cut 2 of fabric             how often it is cut from what, as often as there are materials
    cut 1 of fabric on fold     or: mirrored, or: alike, as in pattern files
    cut 1 of interfacing region edge       only that region
    guide                       never cut
    seam allowance 15 mm        to be added all round; on no piece in particular: for all pieces
    seam allowance included     the outline is the cutting line
    pattern Oar bag             what the whole pattern is called

Marks belong to the outline that is in the same group, if the innermost group around them that holds outlines
holds exactly one; else to the smallest outline around them (notches and folds: the nearest edge). Path objects of
several closed parts: the largest part is the outline, the others are lines. Hidden objects are not read.

A drawing that a program writes should say everything: one group a piece with a title such as ``Front; number 3;
size M; cut 2 of fabric mirrored; seam allowance included``, and in it one path with the title ``outline``, and
the marks with titles as above. The size of a unit follows from width, height and viewBox; lengths in mm, cm, in,
pt, pc and px (96 to the inch, W3C CSS Values and Units 3, section 6.2).
"""

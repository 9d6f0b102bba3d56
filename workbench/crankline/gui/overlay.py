"""What is drawn over the parts in a 3-D view: nodes of the scene graph, no document object, so that there is nothing to undo.

pivy is imported when the first overlay is made, not before.
"""
from __future__ import annotations


class Overlay:
    """Nodes in one view, in the frame of ``root``, that no click meets; ``close`` takes them out. A class that draws fills ``self.top``
    and then puts ``self.node`` (it, or a node around it) into the view by ``show``."""

    def __init__(self, view, root):
        from pivy import coin
        self.node, self._graph = None, view.getSceneGraph()
        self.top = coin.SoAnnotation()
        pick, light, place = coin.SoPickStyle(), coin.SoLightModel(), coin.SoMatrixTransform()
        pick.style, light.model = coin.SoPickStyle.UNPICKABLE, coin.SoLightModel.BASE_COLOR
        place.matrix.setValue(matrix(root))
        for node in (pick, light, place):
            self.top.addChild(node)

    def show(self, node, name: str) -> None:
        """Put the node that holds everything into the view."""
        node.setName(name)
        self.node = node
        self._graph.addChild(node)

    def close(self) -> None:
        """Take the nodes out of the view; nothing happens if the view is gone."""
        if self.node is not None:
            node, self.node = self.node, None
            try:
                self._graph.removeChild(node)
            except Exception:   # the view and its graph were closed under us
                pass


def matrix(placement):
    """A host placement as Coin's matrix: it multiplies row vectors, so it is the host's transposed."""
    from pivy import coin
    m = placement.toMatrix()
    return coin.SbMatrix(m.A11, m.A21, m.A31, m.A41, m.A12, m.A22, m.A32, m.A42,
                         m.A13, m.A23, m.A33, m.A43, m.A14, m.A24, m.A34, m.A44)

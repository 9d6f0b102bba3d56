def test_x(gui_run):
    f = gui_run('''
from PySide import QtGui
import FreeCAD as App, FreeCADGui as Gui
Gui.activateWorkbench("CranklineWorkbench")
Gui.runCommand("Crankline_ExampleCar")
pump(1)
v=App.ActiveDocument.getObject("Engine").ViewObject
print(v.Proxy, vars(v.Proxy), v.Proxy.getIcon(), v.Icon, v.Icon.pixmap(16,16).size())
v.Icon.pixmap(64,64).save("/tmp/ic0.png")
import os
q=QtGui.QPixmap(v.Proxy.getIcon()); print("PIX", q.isNull(), q.size(), QtGui.QImageReader.supportedImageFormats())
from PySide import QtGui, QtCore
print(os.path.exists(v.Proxy.getIcon()))
from PySide import QtGui, QtCore
for t in Gui.getMainWindow().findChildren(QtGui.QTreeWidget):
    for it in t.findItems("Engine", QtCore.Qt.MatchRecursive|QtCore.Qt.MatchExactly):
        print(t.objectName(), it.icon(0).pixmap(16,16).size())
''', check=False, timeout=60)
    print(f.log[-3000:]); assert 0

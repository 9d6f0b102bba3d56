<?xml version="1.0" encoding="utf-8"?>
<!DOCTYPE TS>
<TS version="2.1" sourcelanguage="en">
<context>
    <name>Crankline</name>
    <message>
        <source>A page with the side view in the document, which you edit and dimension yourself</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Car files (*.yaml *.yml)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Choose the folder</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Crankline Help</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Export</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Files written</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Folder</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Folder for the Export</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Nothing is chosen; check what is to be exported.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Open Car File</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>PDF: one file for all pages; SVG and PNG: a file for each page. The size is in the title block</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Page to edit (TechDraw)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Readings (*.yaml *.yml)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Sheets as</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The folder is missing; choose one.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Title Block</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Title block</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Where the files go; it is made if it is not there</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>added to the document</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>car.yaml was written with the values that these formulas give; the formulas themselves are not written</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>removed, because an earlier export wrote it</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>to</source>
        <translation type="unfinished"></translation>
    </message>
</context>
<context>
    <name>CranklinePreferences</name>
    <message>
        <source>82 1/2 in instead of 82.5 in; nothing is rounded for it</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>ANDRA general regulations, engine location</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>ANDRA rulebook, automatic transmissions</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>ANDRA rulebook, driveline</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>ANDRA rulebook, hot-rod class</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Colors in the view</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Driveline practice</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Driveline, further references</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Driveshaft containment</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Engine setback, to be confirmed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Engines, transmissions and tube sections of your own, beside those that come with Crankline</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Folder with the shop's own catalog</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Folder with the shop's placement records</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>General</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Ground clearance</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>IHRA rulebook, clutch shield and engine plate</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>IHRA rulebook, engine plate of the nitro and top classes</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>IHRA rulebook, traction bars</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Interference and clearances</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Invented class of the demo cars</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Marks of findings (diamonds)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>NHRA ET classes, engine location</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>NHRA General Regulations, driveline</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Name for title blocks; it is kept in the car when that is exported</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Preview of parts and powertrain (solid lines)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Preview of the driveshaft (thick line)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Protective parts by elapsed time (old chart)</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Protective parts, whatever the rule book</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Rule sets of a new car</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Service paths</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Shop</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Shop practice</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Stack between block and transmission</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Strength screening of the mounts</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>The car file and the forms of a new car are in these units; each car keeps its own</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Units of a new car</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Where the engine was set in past cars, and how they ran</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Write inches as fractions where they are exact to 1/64 in</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>andra_2009</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>andra_2019</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>andra_2019_hot_rod</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>andra_2019_transmission</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>clearance</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>containment</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>driveline</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>driveline_references</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>ground_clearance</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>ihra_2019</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>ihra_suspension</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>ihra_top_classes</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>inches</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>invented_demo</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>millimeters</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>nhra_chart_protective</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>nhra_et_2004</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>nhra_general_2008</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>practice</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>protection</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>service</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>setback_memory</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>stack</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>strength</source>
        <translation type="unfinished"></translation>
    </message>
</context>
<context>
    <name>Crankline_AsBuiltFit</name>
    <message>
        <source>As-Built Fit…</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Takes readings of the real car and says where the powertrain is, what passes there and what to move</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Takes readings of the real car and says where the powertrain is, what passes there and what to move. Type what tape, plumb bob and level read, or open a readings file. OK keeps the placement as built beside the one as designed, and shows either.</source>
        <translation type="unfinished"></translation>
    </message>
</context>
<context>
    <name>Crankline_Car</name>
    <message>
        <source>Car</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Shows or hides the list of the car's sections, from which parts are added, edited and removed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Shows or hides the list of the car's sections, from which parts are added, edited and removed. The sections are in the order of work, each with its state: there, not there yet, with findings or in error. Add, edit, duplicate and remove parts here.</source>
        <translation type="unfinished"></translation>
    </message>
</context>
<context>
    <name>Crankline_ChassisSketches</name>
    <message>
        <source>Chassis Sketches…</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Reads the chassis from sketches of this document: which sketches, and which of their elements is what</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Reads the chassis from sketches of this document: which sketches, and which of their elements is what. Choose a role in the list, then click its element in the view; another click takes the role off. OK reads the chassis from these sketches, which stay where they are.</source>
        <translation type="unfinished"></translation>
    </message>
</context>
<context>
    <name>Crankline_CheckCar</name>
    <message>
        <source>Check Car</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Recomputes the document, checks it against the rules and lists the findings</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Recomputes the document, checks it against the rules and lists the findings. Findings that follow from numbers are there at once; those that are measured on shapes follow, then what would clear them. A check is only an aid: the current rule book, the chassis inspector and a qualified welder decide.</source>
        <translation type="unfinished"></translation>
    </message>
</context>
<context>
    <name>Crankline_DuplicatePart</name>
    <message>
        <source>Adds another loop, header box, mass or protective item like the selected one to the same car</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Adds another loop, header box, mass or protective item like the selected one to the same car. The copy belongs to the same car, under a name of its own, in the place of the first one: edit it next.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Duplicate Part</source>
        <translation type="unfinished"></translation>
    </message>
</context>
<context>
    <name>Crankline_EditPart</name>
    <message>
        <source>Edit Part…</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Edits the selected part</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Edits the selected part. Opens the form of the section that the part belongs to, with a preview in the view. A double click on the part does the same.</source>
        <translation type="unfinished"></translation>
    </message>
</context>
<context>
    <name>Crankline_ExampleCar</name>
    <message>
        <source>Creates a document with an invented car: chassis, placed powertrain, mounts and containment</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Creates a document with an invented car: chassis, placed powertrain, mounts and containment. Every number of it is invented. Use it to try things out, or as a pattern for a car file.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Example Car</source>
        <translation type="unfinished"></translation>
    </message>
</context>
<context>
    <name>Crankline_Export</name>
    <message>
        <source>Export…</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Writes sheets, flat patterns, STEP, car file and findings to a folder</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Writes sheets, flat patterns, STEP, car file and findings to a folder. Choose what to write and where to, and say once who drew it, who approved it, the date, the revision and the drawing number: the title block of the sheets shows them. A part in error is not exported; a sentence names it.</source>
        <translation type="unfinished"></translation>
    </message>
</context>
<context>
    <name>Crankline_Findings</name>
    <message>
        <source>Findings</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Shows or hides the list of findings of the last check</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Shows or hides the list of findings of the last check. Click a row to see its parts and its place in the view. State and severity are told by words and by the shape of their marks.</source>
        <translation type="unfinished"></translation>
    </message>
</context>
<context>
    <name>Crankline_Help</name>
    <message>
        <source>Crankline Help</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Shows how a car is laid out, checked and exported</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Shows how a car is laid out, checked and exported. A page with pictures; it needs no connection.</source>
        <translation type="unfinished"></translation>
    </message>
</context>
<context>
    <name>Crankline_OpenCarFile</name>
    <message>
        <source>Creates a document from a car file</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Creates a document from a car file. A car file is text with a unit at every length. What is wrong in it is told with its line.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Open Car File…</source>
        <translation type="unfinished"></translation>
    </message>
</context>
<context>
    <name>Crankline_OwnCatalog</name>
    <message>
        <source>Shows engines, transmissions and tubes to pick from, and keeps those of your own</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Shows engines, transmissions and tubes to pick from, and keeps those of your own. Rows of your own say where their figures come from and when they were taken; a car keeps what it uses of them.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Your Own Catalog…</source>
        <translation type="unfinished"></translation>
    </message>
</context>
<context>
    <name>Crankline_PlacePowertrain</name>
    <message>
        <source>Place Powertrain…</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Sets the engine and transmission by axle-to-block, crank height and pitch</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Sets the engine and transmission by axle-to-block, crank height and pitch. Type axle-to-block, crank height and pitch; the drawing in the view follows, and nothing in the document changes before OK. OK is one undo step.</source>
        <translation type="unfinished"></translation>
    </message>
</context>
<context>
    <name>Crankline_PlacementWindow</name>
    <message>
        <source>Placement Window…</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Shows where the powertrain may go: allowed placements, the rule that binds on each edge, and placement records</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Shows where the powertrain may go: allowed placements, the rule that binds on each edge, and placement records. Click a placement in the chart, or step by the arrow keys: the powertrain is drawn there, with its numbers and rules. OK places it as one undo step.</source>
        <translation type="unfinished"></translation>
    </message>
</context>
<context>
    <name>Crankline_Rebuild</name>
    <message>
        <source>Rebuild Shapes</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Rebuilds every shape of the car, including those edited by hand</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Rebuilds every shape of the car, including those edited by hand. Use it after a shape was edited by hand, or to be sure that every shape is fresh.</source>
        <translation type="unfinished"></translation>
    </message>
</context>
<context>
    <name>Crankline_RemovePart</name>
    <message>
        <source>Remove Part…</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Takes the selected part, and what is made for it, out of the car</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Takes the selected part, and what is made for it, out of the car. Says first what goes with it. It can be undone.</source>
        <translation type="unfinished"></translation>
    </message>
</context>
<context>
    <name>Crankline_RepairDocument</name>
    <message>
        <source>Relinks objects that were saved while Crankline was not installed</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Relinks objects that were saved while Crankline was not installed. Use it for a document that was saved on a computer without Crankline, or by an older version.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Repair Document</source>
        <translation type="unfinished"></translation>
    </message>
</context>
<context>
    <name>Crankline_StartCar</name>
    <message>
        <source>Begins a car from what is known before anything is drawn: chassis rails, rear end, engine, transmission and placement</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Begins a car from what is known before anything is drawn: chassis rails, rear end, engine, transmission and placement. Asks for rails, rear end, engine, transmission and the three placement numbers. OK makes the two chassis sketches and the placed powertrain; the list under Car leads through what comes next.</source>
        <translation type="unfinished"></translation>
    </message>
    <message>
        <source>Start Car…</source>
        <translation type="unfinished"></translation>
    </message>
</context>
</TS>

//! The page that says how to do a kitchen trial, with a form to print: one file that needs nothing else.

/// The page. Paper is A4 or letter; the first sheet is the protocol, the second the form.
pub fn html() -> String {
    let rows: String = (0..14).map(|_| format!("<tr>{}</tr>", "<td></td>".repeat(8))).collect();
    PAGE.replace("ROWS", &rows)
}

const PAGE: &str = r#"<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>A kitchen trial of ten heads</title>
<style>
@page { margin: 14mm }
body { font: 11pt/1.42 Inter, "Helvetica Neue", Arial, sans-serif; color: #22262a; max-width: 180mm; margin: 8mm auto; padding: 0 6mm }
h1 { font-size: 19pt; margin: 0 0 1mm }
h2 { font-size: 12.5pt; margin: 4mm 0 1mm }
p, ol, ul { margin: 1mm 0 } ol, ul { padding-left: 6mm } li { margin: .6mm 0 }
.soft { color: #5b6065 }
.states { display: grid; grid-template-columns: repeat(3, 1fr); gap: 4mm; margin: 2mm 0 }
.states div { border-top: 1.2mm solid #123e30; padding-top: 1mm }
.states div + div { border-color: #be5c26 } .states div + div + div { border-color: #7a2a10 }
.sheet { break-before: page; page-break-before: always; padding-top: 4mm }
table { border-collapse: collapse; width: 100%; margin-top: 3mm; font-size: 9.5pt }
th, td { border: .25mm solid #8b9096; padding: 1mm; text-align: left; vertical-align: top }
th { font-weight: 600; background: #f2f3f3 } td { height: 7.2mm }
.blank { display: grid; grid-template-columns: 1fr 1fr; gap: 3mm 8mm; margin-top: 3mm }
.blank span { border-bottom: .25mm solid #8b9096; padding-bottom: 1mm; min-height: 6mm }
code { font-size: 9.5pt; background: #f2f3f3; padding: 0 1mm }
@media print { body { font-size: 10pt; line-height: 1.34; margin: 0; padding: 0; max-width: none } h2 { margin-top: 3mm } }
th:last-child { width: 26% }
</style>
</head>
<body>
<h1>A kitchen trial of ten heads</h1>
<p class="soft">How long do they stay presentable out of water? A first trial narrows what is not known of a flower more than any table. It takes
an afternoon of short looks, and costs ten heads.</p>

<h2>You need</h2>
<ul>
<li>Ten heads of <b>one delivery</b>, prepared as you always do: in water, in the cool, overnight.</li>
<li>A thermometer-hygrometer beside them, on the same shelf. Let it settle for half an hour.</li>
<li>A kitchen scale that reads to 1 g or better (optional), a tray, snips, a telephone to take photographs.</li>
<li>A room that stays about as warm all day: no sun on the tray, no oven, no fan, no open window.</li>
</ul>

<h2>The evening before</h2>
<p>Condition the heads. Number ten slips of paper, one for each head.</p>

<h2>The start</h2>
<ol>
<li>Take the heads out of the water one after another. Dry the stems. Cut them short and take the leaves off, as for tucking.</li>
<li>Throw out and replace any that is bruised or already soft: the trial is of sound heads.</li>
<li>Lay them on the tray, each by its slip, not touching. Put all on the scale and write the weight down.</li>
<li>Write the time, the temperature and the humidity. Photograph the tray from arm's length, in the light it will have later.</li>
</ol>

<h2>A look, every hour (every half hour for flowers that go in an afternoon, every two or three for hardy ones)</h2>
<p>Judge each head from arm's length, as a photographer would, before you read what you wrote last time:</p>
<div class="states">
<div><b>Presentable</b><br>You would place it now and be photographed beside it.</div>
<div><b>Flagging</b><br>First visible softening: a petal edge soft or curled, a neck that bends.</div>
<div><b>Wilted</b><br>Plainly limp, or blown, dropped or browned.</div>
</div>
<p>Count the heads in each state; the three make ten. A head out of water does not come back: a count that rises is a slip. Weigh all ten
together, read the air, take the photograph. Go on until eight or nine are past their best. If you must stop earlier, stop: ten heads still good after
six hours say a lot, too. If a head is knocked off the tray, write how many are left.</p>

<h2>What spoils a trial</h2>
<ul>
<li>Choosing the ten best. Take them as they come out of the bunch.</li>
<li>The wrong hour of the start, or Fahrenheit written as Celsius: check these two before you file the form.</li>
<li>A thermometer across the room, sun that comes round in the afternoon, a dishwasher that steams.</li>
</ul>
<p>For a comparison (sprayed or plain, overnight or from the box) take twenty heads of one delivery, ten for each, on two trays side by side, dealt
out like cards, and keep two forms.</p>
<p class="soft">Care: wash your hands and the worktop; florist flowers are not food and some irritate the skin or poison pets. Keep the trays from
children, cats and dogs. True lilies are deadly to cats.</p>
<p class="soft">The states, the ten heads and the hourly looks are common practice, no source.</p>

<section class="sheet">
<h1>Trial</h1>
<div class="blank">
<span>Flower and cultivar:</span><span>Delivery (grower, date):</span>
<span>Day:</span><span>Out of the water at:</span>
<span>How many heads:</span><span>Prepared: overnight / few hours / from the box</span>
<span>How open: tight / half open / blown</span><span>Leaves: off / on</span>
<span>Treated with (nothing, if as always):</span><span>Room:</span>
</div>
<table>
<thead><tr><th>Time</th><th>Temperature (C or F)</th><th>Humidity %</th><th>Presentable</th><th>Flagging</th><th>Wilted</th><th>Weight of all, g</th><th>Photograph, remarks</th></tr></thead>
<tbody>ROWS</tbody>
</table>
<p class="soft">Into the notebook afterwards: <code>headwater trial start FLOWER --on DAY --at TIME --air "22C 48%" --lot "..." --weight 142g</code>, then for each line
<code>headwater trial look --at TIME --presentable N --wilted N --weight 142g --air "22C 48%"</code></p>
</section>
</body>
</html>
"#;

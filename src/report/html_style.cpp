#include "report/html_parts.hpp"

// Colours after M. Okabe and K. Ito, "Color Universal Design" (2008): blue for after, vermilion for before,
// bluish green for what is good; strokes and words say the same without them.
namespace restep::report {

std::string_view page_style() {
  return R"(
:root{color-scheme:light dark;--p0:var(--after);--p1:var(--before);--p2:var(--good);--p3:var(--retract);--p4:var(--rapid);--p5:var(--ink);--paper:#fbfaf7;--card:#fff;--ink:#1d1f21;--soft:#55595e;--rule:#d5d2ca;--grid:#e7e4dc;
--before:#b84a00;--after:#0066a3;--good:#00694d;--bad:#a3260a;--edit:#f0c04a;--material:#e4e1d8;--rapid:#6d5a00;--retract:#8a3f73}
@media(prefers-color-scheme:dark){:root{--paper:#16181a;--card:#1e2123;--ink:#ecebe7;--soft:#b0b3b6;--rule:#3b3f43;--grid:#2d3134;
--before:#f0914f;--after:#6cc0f2;--good:#3ecf9f;--bad:#ff8a70;--edit:#7a5d10;--material:#34383b;--rapid:#e6c84e;--retract:#e3a0c8}}
*{box-sizing:border-box}
body{margin:0;background:var(--paper);color:var(--ink);font:16px/1.5 system-ui,"Segoe UI","Noto Sans",sans-serif}
header,main,footer,nav ul{max-width:62rem;margin:0 auto;padding:0 1rem}
header{padding-top:1.5rem}h1{margin:0;font-size:1.7rem;overflow-wrap:anywhere}
.kind{margin:0;color:var(--soft);letter-spacing:.04em}
#verdict{margin:.8rem 0 1rem;padding:.7rem 1rem;border:2px solid;border-left-width:.7rem;border-radius:.3rem;background:var(--card);font-size:1.08rem;overflow-wrap:anywhere}
#verdict.good{border-color:var(--good)}#verdict.bad{border-color:var(--bad)}.sign{font-weight:700}
.good .sign{color:var(--good)}.bad .sign{color:var(--bad)}
nav{position:sticky;top:0;z-index:3;background:var(--paper);border-bottom:1px solid var(--rule)}
nav ul{display:flex;gap:0 1.1rem;list-style:none;overflow-x:auto;padding-block:.35rem}
a{color:var(--after)}nav a{display:block;padding:.25rem 0;white-space:nowrap}
:focus-visible{outline:3px solid var(--after);outline-offset:2px}
.skip{position:absolute;left:-99rem}.skip:focus{left:1rem;top:.5rem;background:var(--card);padding:.3rem .6rem;z-index:9}
main>section{margin:1.6rem 0;scroll-margin-top:3rem}h2{font-size:1.3rem;margin:0 0 .6rem;border-bottom:2px solid var(--rule);padding-bottom:.2rem}
.pass{background:var(--card);border:1px solid var(--rule);border-radius:.4rem;padding:.8rem 1rem;margin:0 0 1rem;scroll-margin-top:3rem}
h3{margin:0;font-size:1.12rem}.tag{font-size:.8rem;font-weight:600;padding:.1rem .5rem;border:1px solid currentColor;border-radius:1rem;margin-left:.4rem}
.tag.restepped{color:var(--good)}.tag.kept{color:var(--soft)}
.sides>*{min-width:0}.sides{display:grid;grid-template-columns:1fr auto;gap:.5rem 2rem;align-items:start}.surfaces{padding-left:1.1rem;margin:.2rem 0}
p{margin:.4rem 0}.remark,.hint,figcaption{color:var(--soft);font-size:.9rem}
dl{margin:0 0 .8rem}dl div{display:grid;grid-template-columns:9rem 1fr;border-bottom:1px solid var(--grid);padding:.15rem 0}
dt{color:var(--soft)}dd{margin:0;overflow-wrap:anywhere}
table{border-collapse:collapse;width:100%;font-size:.92rem}table.compact{width:auto}.compact td:not(.n){overflow-wrap:anywhere}
th,td{text-align:left;padding:.25rem .7rem .25rem 0;border-bottom:1px solid var(--grid);vertical-align:top}
thead th{color:var(--soft);font-weight:600;border-bottom:1px solid var(--rule)}.n{font-variant-numeric:tabular-nums;white-space:nowrap;text-align:right}
.compact .n,.compact th[scope=col]{padding-left:.9rem;text-align:right}thead th.n{white-space:normal}td code{overflow-wrap:break-word}code{font:.88rem ui-monospace,"DejaVu Sans Mono",monospace;overflow-wrap:anywhere}
.severity{font-weight:600}.warning .severity{color:var(--before)}.error .severity{color:var(--bad)}
.scroll{overflow:auto;max-height:32rem}.scroll.all{max-height:none}details{margin:.4rem 0}summary{cursor:pointer;padding:.2rem 0}
#chips th{text-align:right}#chips th:nth-child(-n+2){text-align:left}.levels thead th{text-align:right}.levels thead th,.filterable thead th{position:sticky;top:0;background:var(--card)}#findings thead th,#edits thead th{background:var(--paper)}
figure{margin:.8rem 0}figure svg{display:block;width:100%;height:auto}figcaption{max-width:44rem}.panels{display:flex;flex-wrap:wrap;gap:.4rem 1.5rem}.panels svg{flex:0 1 320px;min-width:min(300px,100%)}.blocks{min-width:17rem}.blocks code{white-space:pre-wrap}
svg text{fill:var(--ink);font:13px system-ui,"Noto Sans",sans-serif}svg .axis,svg .tick{fill:var(--soft);font-size:12px}svg .tick text{fill:var(--soft);font-size:11.5px}
svg .head{font-weight:600;font-size:15px}path{fill:none}.grid path{stroke:var(--grid)}.frame,.grid .frame{stroke:var(--soft)}
.material{fill:var(--material)}.surface{stroke:var(--ink);stroke-width:1}
.cusps.before{fill:var(--before)}.cusps.after{fill:var(--after)}
.mark{stroke-width:1}.mark.before{stroke:var(--before)}.mark.after{stroke:var(--after)}
.line{stroke-width:2}.line.before{stroke:var(--before);stroke-dasharray:7 3}.line.after{stroke:var(--after)}
.target{stroke:var(--good);stroke-width:2;stroke-dasharray:2 4}
.bar.before{fill:var(--card);stroke:var(--before);stroke-width:2}.bar.after{fill:var(--after);stroke:var(--after);stroke-width:2}
.path{stroke-width:1;stroke-linejoin:round}.path.cut{stroke:var(--soft)}.path.p0{stroke:var(--p0)}.path.p1{stroke:var(--p1)}.path.p2{stroke:var(--p2)}.path.p3{stroke:var(--p3)}.path.p4{stroke:var(--p4)}.path.p5{stroke:var(--p5)}
.pin circle{fill:var(--card);stroke:var(--ink);stroke-width:2}svg .pin text{font-size:11px;font-weight:700}.pin.p0 circle{stroke:var(--p0)}.pin.p1 circle{stroke:var(--p1)}.pin.p2 circle{stroke:var(--p2)}.pin.p3 circle{stroke:var(--p3)}.pin.p4 circle{stroke:var(--p4)}.pin.p5 circle{stroke:var(--p5)}
.path.way-a{stroke:var(--before);stroke-width:3}.path.way-b{stroke:var(--after);stroke-width:1.2}
.path.rapid{stroke:var(--rapid);stroke-dasharray:9 5}
.path.retract{stroke:var(--retract);stroke-width:1.8;stroke-dasharray:1 4;stroke-linecap:round}.path.edit{stroke:var(--edit);stroke-width:5;opacity:.55}
.legend{display:flex;flex-wrap:wrap;gap:.2rem 1.4rem;list-style:none;padding:0;margin:.3rem 0;font-size:.9rem}.legend .key{display:inline-block;width:40px;height:10px;vertical-align:middle}
.print-only{display:none}
footer{color:var(--soft);font-size:.85rem;border-top:1px solid var(--rule);padding-block:.8rem 2rem;margin-top:2rem}
.filterable td:first-child{white-space:nowrap}
@media(max-width:40rem){.blocks{min-width:0}.compact .n{white-space:normal;padding-left:.3rem}.sides{grid-template-columns:1fr}dl div{grid-template-columns:1fr}body{font-size:15px}
figure>svg .axis,figure>svg .tick,figure>svg .tick text{font-size:19px}figure>svg .x:nth-of-type(2n){display:none}.bars svg text,.bars svg .tick{font-size:16px}header,main,footer,nav ul{padding-inline:.7rem}.pass{padding:.6rem .6rem}}
@media(prefers-reduced-motion:no-preference){html{scroll-behavior:smooth}}
@page{size:A4;margin:14mm}
@media print{:root{color-scheme:light;--paper:#fff;--card:#fff;--ink:#000;--soft:#444;--rule:#999;--grid:#ddd;--before:#b84a00;--after:#0066a3;--good:#00694d;--bad:#a3260a;--edit:#f0c04a;--material:#eee;--rapid:#6d5a00;--retract:#8a3f73}
#edits tbody tr:nth-child(n+41){display:none}.print-only{display:block}
body{font-size:9.5pt}.compact{font-size:.85em}.sides{gap:.3rem 1rem}nav,.skip,.interactive{display:none!important}.scroll{max-height:none;overflow:visible}figure,tr,dl div,li,.sides,.legend{break-inside:avoid}#chips .scroll{font-size:.8em}#chips .n{white-space:normal}.pass>p,summary,.legend,section>p:first-of-type{break-after:avoid}
h2,h3{break-after:avoid}.pass{border:0;padding:0}thead th{position:static!important}header,main,footer{max-width:none;padding:0}figure>svg{max-width:150mm!important}.panels{flex-wrap:nowrap}.panels svg{flex:0 1 52mm;min-width:0}}
)";
}

} // namespace restep::report

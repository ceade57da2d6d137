"""Words met in trade, each read alone between two plain words: what it means, what it leaves open, nothing else.

Written down by thought before the reader was asked; after the lists named in ``test_label_text_words`` where
those speak, else common practice, no source. ``?`` marks what is only to be checked on the label.
"""

import pytest

from tests.domain.labels.label_reading import reading

SPECIES = {
    "tree_nut": {"almond", "cashew", "hazelnut", "pecan", "pistachio", "walnut", "brazil_nut", "macadamia", "pine_nut"},
    "fish": {"salmon", "tuna", "cod", "anchovy", "mackerel", "fish_roe"},
    "crustacean": {"shrimp", "crab", "lobster"},
    "mollusc": {"squid", "abalone", "oyster", "mussel"},
    "wheat": {"spelt", "khorasan", "triticale"},
}
GROUP_OF = {one: group for group, members in SPECIES.items() for one in members}
"""Species are told as their group here."""

NOT_LISTED = {"apple", "banana", "beef", "chicken", "gelatin", "kiwi", "maize", "orange", "peach", "pork", "yam"}
"""Foods that other lists and children have: not looked at here."""

# phrases, with semicolons between: what they mean
TABLE = """
# milk
milkfat; anhydrous milk fat; milk minerals; milk mineral concentrate; lactic butter; cultured butter; cultured whey;
  cultured nonfat milk; casein phosphopeptide; casein phosphopeptide-amorphous calcium phosphate; hydrolyzed milk
  protein; nonfat dry milk; non-fat milk solids; NFDM; WPC; WPC80; WPI; MPC; MPI; micellar casein; sodium caseinate;
  calcium caseinate; acid casein; rennet casein; dairy product solids; deproteinized whey; reduced lactose whey; sweet
  whey powder; whey permeate; milk permeate; lactose monohydrate; alpha-lactalbumin; beta-lactoglobulin; bovine
  colostrum; butter starter distillate; cheese powder; queso blanco; queso quesadilla; oaxaca cheese; idiazabal;
  cabrales; crescenza; stracchino; pecorino romano; grana padano; ricotta salata; quartirolo; chevre; fourme d'ambert
  cheese; vacherin; appenzeller; emmentaler; gruyère; quark; quarg; topfen; havarti; danablu; maasdam; double
  gloucester; caerphilly; shropshire blue cheese; halloumi; kefalotyri; kashkaval; bryndza; oscypek; labneh; labaneh;
  shanklish; paneer; panir; queijo; requeijão; formaggio; fromage blanc; pot cheese; smetana; kajmak; filmjölk; skyr;
  ayran; doogh; kumis; dahi; shrikhand; rasmalai; dulce de leche; leche condensada; panna cotta; whipped cream;
  lactose-free milk; goat milk; sheep milk cheese; mozzarella di bufala; butterkäse; lait entier; leche descremada;
  Magermilchpulver; ghee; butter oil; brown butter; half & half; tzatziki; butter chicken; lactic acid (from milk):
  milk
cultured dextrose; cultured cane sugar; cultured corn syrup solids; microbial rennet; enzymes; lipase; nisin;
  natamycin; diacetyl; chocolate liquor; cocoa butter; cocoa butter equivalent; head cheese; headcheese; cream of
  tartar; cream soda; cream of rice; cream peas; cream style corn; butter beans; butter peas; butter lettuce;
  butternut squash; apple butter; sunflower butter; pea milk; hemp milk; rice milk; tiger nut milk; milk thistle;
  lactic acid; lactobacillus casei; sodium lactate; calcium stearoyl lactylate; lactase; lactoflavin; acidophilus;
  bifidobacterium lactis: nothing
cultured wheat flour; cultured wheat starch; cream of wheat: wheat
cultured celery juice: celery
galactose; lactulose; lactitol; starter distillate; cheese culture; panela; arequipe; non-dairy whipped topping; creme
  filling; cream filling; dairy-free cream cheese; plant-based butter; butterscotch chips; caramel; creamed spinach:
  milk?
flan; crema catalana; creme brulee; marshmallow creme: milk?, egg?
pastry cream; custard; frozen custard: milk, egg?
milk chocolate; white chocolate: milk, soy?
dark chocolate; butter flavored shortening; margarine: milk?, soy?
vegetable ghee; vanaspati: soy?
caramel color: wheat?
eggnog: milk, egg
ice cream sandwich; mac and cheese: milk, wheat?
ice cream cone; cookies and cream: milk?, wheat?
korma: milk?, tree_nut?
butternut: tree_nut?
cookie butter: milk?, wheat?, egg?
peanut butter: peanut
coconut milk; coconut cream: coconut
oat milk: oats
almond milk; pistachio milk; macadamia milk: tree_nut
soy milk: soy
milkfish: fish
# egg
dried whole egg; egg albumen; albumen; egg white lysozyme; lysozyme; livetin; vitellin; phosvitin; ovomucoid; egg
  lecithin; lecithin (egg); frittata; meringue; pavlova; tamagoyaki; balut; aioli; avgolemono; egg wash; eggshell
  membrane; egg foo young; cage free eggs: egg
albumin; divinity; egg substitute; vegan egg: egg?
quiche; brioche: egg?, milk?, wheat?
macaron; torrone: egg?, tree_nut?
ladyfingers; savoiardi: egg?, wheat?
challah: egg, wheat?
egg noodles: egg, wheat
egg drop soup: egg, celery?
mayonnaise; mayo: egg, mustard?
egg-free mayonnaise; vegan mayo; eggless mayonnaise; tartar sauce; russian dressing: egg?, mustard?
hollandaise; béarnaise: milk, egg
caesar dressing: milk?, egg?, fish?, mustard?
ranch dressing: milk?, egg?, mustard?
surimi: fish, egg?, wheat?, crustacean?
kamaboko: fish, egg?, wheat?
marzipan: tree_nut, egg?
nougat: milk?, egg?, tree_nut?
royal icing: egg?, milk?
egg replacer; eggplant: nothing
egg rolls (cabbage, wheat flour, pork): wheat
# fish
arctic char; anchoveta; barramundi; bombay duck; bonito flakes; katsuobushi; bream; capelin; cusk; dorado fish;
  mahi-mahi; escolar; grouper; hoki; jack mackerel; kingfish; lingcod; megrim; opah; orange roughy; pangasius;
  pomfret; porgy; sablefish; saury; scad; sheepshead; snook; sprats; tilapia; trevally; turbot; walleye; weakfish;
  zander; bottarga; mojama; gravlax; matjes herring; stockfish; bacalhau; colatura di alici; nam pla; nuoc mam; nuoc
  cham; patis; padaek; prahok; niboshi; fish sauce; anchovy paste; gefilte fish; taramasalata; caviar; masago; tobiko;
  ikura; mentaiko; kazunoko; shirako; fish oil; cod liver oil; isinglass; fish gelatin; fish maw; shark fin; sardinas;
  atún; thon; merluza; unagi; chunk light tuna: fish
dashi; tapenade; bagna cauda; pissaladiere; omega-3; kosher gelatin: fish?
grenadine; DHA algal oil; gelatin; monk fruit extract; sea salt; sea moss; star fruit: nothing
surimi seafood: fish, egg?, wheat?, crustacean?, mollusc?
bagoong: fish?, crustacean?
furikake: fish?, sesame?
Worcestershire sauce: fish?, soy?
eel sauce: fish?, soy?, wheat?
tuna salad: fish, egg?
# crustaceans
shrimp paste; belacan; terasi; kapi; krill oil; krill meal; langostino; slipper lobster; mantis shrimp; goose
  barnacles; percebes; crayfish tails; scampi; camarones; amaebi; saeujeot; lobster base; crab extract;
  shrimp-flavored: crustacean
bagoong alamang: crustacean, fish?
glucosamine; glucosamine hydrochloride; chitosan: crustacean?
crab rangoon: crustacean, milk?, egg?, wheat?
kanikama: fish, crustacean?
crab sticks: fish, crustacean?, egg?, wheat?
tom yum paste: crustacean?, fish?
red curry paste: crustacean?, fish?, mustard?
XO sauce; seafood broth; bouillabaisse: fish?, crustacean?, mollusc?
crab apple; lobster mushroom: nothing
shellfish: crustacean, mollusc
prawn crackers: crustacean, wheat?
# molluscs
squid ink; calamari; cuttlefish; pulpo; quahog; littleneck clams; cherrystone clams; razor clam; bay scallops;
  abalone; awabi; conch; escargot; green-lipped mussel extract: mollusc
oyster sauce: mollusc, soy?, wheat?
vegetarian oyster sauce: soy?, wheat?
oyster mushroom; king oyster mushrooms; sea urchin: nothing
oyster crackers: wheat?
scalloped potatoes; scallop potatoes: milk?
clam chowder: mollusc, milk?, wheat?
# nuts
marcona almonds; prunus dulcis; badam; amandes; kaju; anacardium occidentale; cajou; pignoli; pine kernels;
  chilgoza; cedar nuts; piñon nuts; avellana; haselnuss; noisettes; corylus avellana; akhrot; juglans regia; carya
  illinoinensis; pista; pistacia vera; para nuts; bertholletia excelsa; macadamia ternifolia; macadamia; beechnuts;
  hickory nuts; almond extract; natural almond flavor; frangipane; orgeat; panforte; tree nuts; walnut oil: tree_nut
gianduja; pecan pralines; hazelnut praline paste: tree_nut, milk?
praline; pralines; pesto: tree_nut?, milk?
chestnuts: chestnut
water chestnuts; chestnut mushrooms; nut-free; nutmeg; mace; lychee nut; litchi nuts; corn nuts; betel nut; tiger
  nuts; argan oil; nutritional yeast; breadnut; pecan wood smoke; hickory smoke flavor; pineapple: nothing
shea butter; shea nut oil: shea
kola nut; amaretto; horchata; romesco: tree_nut?
imitation almond extract; trail mix: tree_nut?, peanut?
amaretti; dacquoise: tree_nut?, egg?
nougatine: tree_nut?, milk?, egg?
baklava: tree_nut?, wheat?
stollen: tree_nut?, wheat?, milk?
halva; dukkah: sesame?, tree_nut?
halwa: sesame?, tree_nut?, wheat?
biscotti: tree_nut?, wheat?, egg?
mole sauce: peanut?, tree_nut?, sesame?
muesli; granola: tree_nut?, wheat?, oats?
mixed nuts; nut meal; nut pieces; nut oil; nuts: tree_nut, peanut?
coconut; cocos nucifera; desiccated coconut; coconut oil: coconut
coconut sugar; coconut palm sugar; palm sugar; coconut nectar; coconut vinegar; coconut aminos: coconut?
macaroons: coconut?, tree_nut?, egg?
soy nuts: soy
# peanut
groundnut oil; arachis oil; arachis hypogaea; goobers; monkey nuts; beer nuts; earth nuts; cacahuates; amendoim;
  erdnüsse; peanut flour; hydrolyzed peanut protein; mandelonas: peanut
highly refined peanut oil: peanut?
saté: nothing
pad thai: peanut?, egg?, fish?, crustacean?, wheat?, soy?
kung pao sauce: peanut?, soy?
massaman curry paste: peanut?, fish?, crustacean?, mustard?
# grains
vital wheat gluten; wheat gluten; seitan; wheat germ oil; hydrolyzed wheat protein; wheat dextrin; maltodextrin
  (wheat); glucose syrup (wheat); textured wheat protein; khorasan; farro; freekeh; einkorn; emmer; spelt; durum
  semolina; semola di grano duro; sooji; rava; atta; maida; farina; panko; breadcrumbs; matzo meal; graham cracker
  crumbs; graham flour; udon; somen; kataifi; flour tortilla; bread; white bread; wheat bread; macaroni; spaghetti;
  israeli couscous; bulgur; wheat bran; shredded wheat; sprouted wheat; wheat starch; flour; all-purpose flour;
  harina de trigo; farine de blé; ble dur; weizenmehl: wheat
gluten: wheat?, gluten_cereal
orzo: wheat?, barley?
wheatgrass; dextrin; modified food starch; rice panko; gluten free breadcrumbs; phyllo; filo dough; tortilla; corn
  tortilla; rice tortilla; tortilla chips; pita; roti; chapati; breader; predust; spring roll wrapper; samosa;
  empanada; pretzels; sugar cone; wafers; croutons; toast; corn bread; potato bread; sweet potato bread; lentil
  crackers; rice crackers; corn cereal; rice cereal; vegetable flour; brown rice bread; gluten free bread; tabbouleh;
  kibbeh; pastina; fideo; licorice; bran; bran flakes; flour (rice, corn); harina: wheat?
maltodextrin; glucose syrup; modified corn starch; rice cakes; rice paper; rice noodles; rice vermicelli; mung bean
  noodles; glass noodles; sweet potato glass noodles; shirataki noodles; spaghetti squash; corn couscous;
  bulgaricus; licorice root; rice malt; maltose; maltitol; job's tears flour; rice bran; corn bran; cornstarch;
  potato starch; potato flour; rice flour: nothing
triticale: wheat, rye
matzo balls: wheat, egg?
soba: buckwheat, wheat?
soba noodles; buckwheat noodles: buckwheat, wheat?, egg?
naan: wheat?, milk?
breading; batter mix; dumpling wrapper; wonton wrapper; churro; corn breading; potato breading; rice pasta; chickpea
  pasta; lentil pasta: wheat?, egg?
eclair: wheat?, egg?, milk?
cream puffs: wheat?, egg?, milk
crispbread: wheat?, rye?
rye bread; rye crackers: rye, wheat?
pumpernickel: rye
oat bread; oatcakes: oats, wheat?
barley bread; beer: barley, wheat?
buckwheat flour; buckwheat groats: buckwheat
soy sauce; shoyu: soy, wheat?
tamari: soy
teriyaki sauce: soy?, wheat?
ponzu: soy?, wheat?, fish?
hoisin sauce: soy?, wheat?, sesame?
malt; malt vinegar; malted barley; barley grass; pearl barley; barley bran: barley
malted milk: milk, barley, wheat?
brewer's yeast: barley?
kvass: rye?, barley?, wheat?
oats; steel-cut oats; oat fiber; oat bran: oats
mustard bran: mustard
multigrain; 7 grain cereal: wheat?, barley?, rye?, oats?
groats: oats?
# soy
edamame; soya; soja; soybeans; glycine max; tofu; natto; tempeh; okara; yuba; kinako; textured soy protein; textured
  soy flour; HVP (soy); hydrolyzed soy protein; soy albumin; soy fiber; soy grits; soy isoflavones; soluble soybean
  polysaccharide; tocopherols (soy); soy lecithin; cold pressed soybean oil; bean curd: soy
glycine; annatto; sunflower lecithin; pea protein: nothing
miso; white miso paste: soy, barley?
chickpea miso: barley?
nattokinase; TVP; phytosterols; vegetable oil; soybean oil; fermented black beans; liquid aminos; vegetable protein;
  plant protein; imitation bacon bits: soy?
textured vegetable protein; HVP; hydrolyzed vegetable protein; red bean paste; black bean sauce; doubanjiang: soy?,
  wheat?
HVP soy; doenjang; kecap manis; ketjap: soy, wheat?
lecithin; E322: soy?, egg?
vegetable broth: soy?, celery?
gochujang: soy?, wheat?, barley?, sesame?
ssamjang: soy, wheat?, sesame?
veggie burger: soy?, wheat?, egg?
# sesame
tahini; tehina; tahina; gomasio; benne seeds; gingelly oil; til oil; sesamol; sesamin; sesamum indicum; ajonjoli;
  simit; goma dare: sesame
halvah: sesame?, tree_nut?
benne wafers: sesame, wheat?
za'atar; hummus; baba ghanoush; seed mix: sesame?
falafel; everything bagel: sesame?, wheat?
everything bagel seasoning: sesame?, celery?
until; lentils: nothing
# mustard, celery, lupin, sulphites
dijon; mostarda; sarson; panch phoron; honey mustard: mustard
mustard greens; wasabi; curry powder; garam masala; vinaigrette: mustard?
spices: mustard?, celery?
horseradish; sodium sulfate; sodium thiosulfate; unsulphured molasses; raisins; lupulin: nothing
custard powder: milk, egg?
celeriac; celery salt; celery root: celery
mirepoix; soffritto; vegetable stock; seasoning: celery?
sulfur dioxide; sodium metabisulfite; potassium metabisulphite; sodium bisulfite; E220; E 223; preservative (220):
  sulphite
wine; golden raisins; dried apricots; dried apples; maraschino cherries: sulphite?
lupin flour; lupini beans; altramuces; tremoços: lupin
# dishes, sauces and run-together words
cheesecake: milk, wheat?, egg?
tempura; meatballs; madeleines: egg?, wheat?
lemon curd; orange curd: egg?, milk?
gnocchi; spaetzle: wheat?, egg?
chow mein: wheat?, egg?, soy?
pizza: wheat?, milk?
pizza crust; fruitcake; asafoetida; hing: wheat?
carbonara: milk?, egg?
confectioner's glaze; root beer; ginger beer; ginger ale; curry leaves; pea protein crisps: nothing
chowder; tres leches: milk?, wheat?
bisque: crustacean?, milk?
lobster bisque: crustacean, milk?
tempura shrimp: crustacean, egg?, wheat?
fish sticks: fish, wheat?
veggie patty; teriyaki glaze: soy?, wheat?
potato salad; coleslaw: egg?, mustard?
glaze: egg?
fried rice: egg?, soy?, wheat?
gyoza: wheat?, soy?
lo mein: wheat?, egg?, soy?
soy glaze; fermented soybean paste: soy
artificial crab flavor: crustacean?, fish?
wheat beer: wheat, barley
gluten-free beer: barley, wheat?
chocolate pudding: milk?, soy?
trifle: milk?, wheat?, egg?
corn flakes; crisped rice: barley?
corn flake cereal: barley?, wheat?
artificial coconut flavor: coconut?
milk chocolate flavored coating: milk, soy?
nata de coco: coconut
Vollmilchpulver; Molkenpulver: milk
# baked goods and dishes that are often made with milk too
linzer cookies: wheat?, egg?, milk?, tree_nut?
doughnut; cornbread; hushpuppies; corn dog; cookies; cookie crumbs; cake; english muffin; banana cake; potato cake;
  angel food cake; sponge cake; ravioli; tortellini; lasagna: wheat?, egg?, milk?
pie crust; puff pastry; crumpet; scone; cannelloni; roux; shortbread: wheat?, milk?
buckwheat pancakes: buckwheat, wheat?, egg?, milk?
oat cake: oats, wheat?, egg?, milk?
bread pudding: milk?, wheat?, egg?
crab cakes: crustacean, egg?, wheat?, milk?
fish cakes: fish, egg?, wheat?, milk?
waffle cone; biscuits: wheat?, milk?
tiramisu: milk?, egg?, wheat?
# dishes, with what they are usually made and served with
gulab jamun: milk, wheat?
kheer; barfi; vegan cheese: milk?, tree_nut?
tikka masala: milk?, mustard?, tree_nut?
egg roll: egg?, wheat?, soy?, crustacean?
rollmops: fish, mustard?
sambal: crustacean?, fish?
jambalaya: crustacean?, fish?, celery?
satay sauce; gado gado: peanut?, soy?
paratha; gingerbread: wheat?, milk?
spring roll: wheat?, egg?, soy?, crustacean?
stuffing; gravy: wheat?, celery?
banana bread: wheat?, tree_nut?
panettone: egg?, wheat?, milk?
kugel; knish: wheat?, egg?, milk?
balsamic glaze: sulphite?
yakisoba: wheat?, soy?, mollusc?
stroganoff: milk?, wheat?, mustard?
ramen: wheat?, egg?, soy?, fish?
"""


def rows():
    """Phrase and what it means, a row each; a row of the table goes on where the next line is indented."""
    for line in TABLE.replace("\n  ", " ").strip().splitlines():
        if not line.startswith("#"):
            phrases, _, meaning = line.rpartition(":")
            for phrase in phrases.split(";"):
                yield (
                    phrase.strip(),
                    frozenset() if meaning.strip() == "nothing" else frozenset(meaning.replace(",", " ").split()),
                )


def told(text: str) -> frozenset[str]:
    found = reading(text)
    hard = {GROUP_OF.get(one, one) for one in found.contains} - NOT_LISTED
    asked = {GROUP_OF.get(one, one) for one in found.check_label} - NOT_LISTED - hard
    return frozenset(hard) | {f"{one}?" for one in asked}


@pytest.mark.parametrize(("phrase", "meaning"), list(rows()))
def test_a_word_of_trade(phrase, meaning):
    assert told(f"Water, {phrase}, salt.") == meaning


def test_the_table_is_read_whole():
    phrases = [phrase for phrase, _ in rows()]
    assert len(phrases) == len(set(phrases)) > 700

"""What keepers write above their columns, in the languages of the trade.

The words are the trade's general ones (*common practice, no source*).
"""

from __future__ import annotations

# Element, a bar, species where a number without one would be another substance.
ELEMENT_WORDS: dict[str, str] = {
    "alkalinity": (
        "kh,alk,alka,alkalinity,total alkalinity,alkalinity total,ta,talk,carbonate hardness,"
        "carb hardness,karbonathärte,carbonathärte,karbonat härte,alkalinität,gesamtalkalinität,"
        "säurebindungsvermögen,säurekapazität,sbv,ks 4 3,ks4 3,alcalinité,alcalinité totale,"
        "dureté carbonatée,alcalinidad,alcalinidad total,dureza de carbonatos,dureza carbonatada,"
        "alcalinità,alcalinità totale,durezza carbonatica,durezza dei carbonati,alcalinidade,"
        "alcalinidade total,dureza carbonática,alkaliteit,alkaliniteit,carbonaathardheid,"
        "alkaliczność,zasadowość,twardość węglanowa,alkalinitet,karbonathårdhet,karbonathårdhed,"
        "щёлочность,карбонатная жёсткость"
    ),
    # In France counted in French degrees, by some in German ones.
    "alkalinity|TAC": "tac,titre alcalimétrique complet",
    "calcium": "ca,calcium,kalzium,kalcium,kalcij,kalcyum,calcio,cálcio,wapń,kalsium,кальций,vápník",
    "magnesium": "mg,magnesium,magnésium,magnesio,magnésio,magnez,магний,hořčík",
    "potassium": "k,potassium,kalium,potasio,potassio,potássio,potas,калий,draslík",
    "strontium": "sr,strontium,estroncio,stronzio,estrôncio,stront,стронций",
    "iodine": "i,iodine,iodide,jod,jodid,iode,iodure,yodo,iodio,iodo,jodium,jodide,йод",
    "nitrate": (
        "no3,nitrate,nitrates,nitrat,nitrato,nitratos,nitrati,nitraat,azotan,azotany,нитрат,нитраты"
    ),
    "nitrate|NO3-N": (
        "no3 n,n no3,no3 as n,no3n,nitrate n,nitrate nitrogen,nitrat n,nitratstickstoff,"
        "nitrat stickstoff,no3 stickstoff,"
        "azote nitrique,nitraat n,nitratkväve,nitrate as n"
    ),
    "nitrite": "no2,nitrite,nitrites,nitrit,nitrito,nitritos,nitriti,nitriet,azotyn,azotyny,нитрит",
    "nitrite|NO2-N": "no2 n,n no2,no2 as n,no2n,nitrite n,nitrite nitrogen,nitrit n,nitritstickstoff,"
    "nitrit stickstoff",
    "ammonia": (
        "nh3 nh4,nh4 nh3,ammonium ammoniak,ammoniak ammonium,ammonia ammonium,ammonium ammonia,"
        "ammonium ammoniac,ammoniaque,amonio amoniaco,ammonio ammoniaca,"
        "nh3 4,nh4 3,ammonia,total ammonia,ammoniak,ammoniac,amoniaco,amoníaco,"
        "ammoniaca,amônia,amónia,amoniak,аммиак"
    ),
    "ammonia|NH3": "nh3",
    "ammonia|NH4": "nh4,ammonium,amonio,ammonio,amônio,amónio,amon,аммоний",
    "ammonia|NH4-N": (
        "nh4 n,n nh4,nh4n,ammonium n,ammoniumstickstoff,ammonium stickstoff,ammonium nitrogen"
    ),
    "ammonia|NH3-N": (
        "nh3 n,n nh3,nh3n,ammonia n,ammonia nitrogen,tan,total ammonia nitrogen,"
        "total ammoniacal nitrogen,total ammonia n"
    ),
    "phosphate": (
        "po4,phosphate,phosphates,orthophosphate,phosphat,ortho phosphat,orthophosphat,fosfato,"
        "fosfatos,fosfati,fosfaat,fosforan,fosforany,fosfat,фосфат,фосфаты,po43"
    ),
    "phosphate|PO4-P": (
        "po4 p,p po4,po4 as p,po4p,phosphate p,phosphat p,phosphate as p,fosfaat p,phosphatphosphor"
    ),
    "phosphate|P": "p,phosphorus,phosphor,phosphore,fósforo,fosforo,fosfor,фосфор",
    "silicate": "sio2,silicate,silicates,silica,silikat,silicato,silicati,silicaat,krzemiany,kisel",
    "silicate|Si": "si,sio2 si,silicon,silizium,silicium,silicio,silício,krzem",
    "boron": "b,boron,bor,bore,boro,boor,бор",
    "boron|H3BO3": "h3bo3,boric acid,borsäure,acide borique",
    "bromide": "br,bromide,bromine,bromid,brom,bromure,bromuro,brometo,broom,бром",
    "fluoride": "f,fluoride,fluorine,fluorid,fluor,fluorure,fluoruro,fluoreto,фтор",
    "sulfate": "so4,sulfate,sulphate,sulfat,sulfato,solfato,solfati,sulfaat,siarczan,siarczany",
    "sulfate|SO4-S": "so4 s,s so4,so4 as s,sulfate s,sulphate s,sulfat s,sulfate as s,sulphate as s",
    "chloride": "cl,chloride,chlorid,chlorure,cloruro,cloreto,chlorek,klorid,хлорид",
    "sodium": "na,sodium,natrium,sodio,sódio,sód,натрий",
    "salinity": (
        "salinity,sal,salinität,salzgehalt,salinité,salinidad,salinità,salinidade,saliniteit,"
        "zoutgehalte,zasolenie,salinitet,salthalt,saltholdighed,saltinnhold,соленость,psu,s psu"
    ),
    "salinity|SG": (
        "sg,s g,specific gravity,spec gravity,gravity,spezifisches gewicht,densité relative,"
        "gravedad específica,peso specifico,soortelijk gewicht,ciężar właściwy"
    ),
    "salinity|density": (
        "density,dichte,densité,densidad,densità,densidade,dichtheid,gęstość,densitet,tetthet,"
        "massefylde,плотность"
    ),
    "salinity|conductivity": (
        "conductivity,cond,ec,leitfähigkeit,leitwert,lf,conductivité,conductividad,conducibilità,"
        "condutividade,geleidbaarheid,przewodność,konduktivitet,ledningsförmåga,ledningsevne"
    ),
    "temperature": (
        "temp,tmp,temperature,temperatur,température,temperatura,temperatuur,wassertemperatur,"
        "watertemperatuur,lämpötila,температура"
    ),
    "pH": "ph,ph value,ph wert,valeur ph,valor ph,valore ph,ph waarde,рн",
}  # fmt: skip

# Role -> words that decide it where the heading names no element.
ROLE_WORDS: dict[str, str] = {
    "date": (
        "date,dates,datum,fecha,data,dato,dag,day,tag,jour,dia,giorno,dzień,datetime,date time,"
        "datum zeit,datum uhrzeit,data ora,fecha hora,date heure,data i godzina,datum tijd,timestamp,"
        "time stamp,zeitstempel,zeitpunkt,horodatage,tijdstip,when,wann,quand,test date,date tested,"
        "sample date,sampling date,date of test,messdatum,testdatum,probenahme,probedatum,"
        "date de mesure,date du test,datum messung,measured on,measured at,sampled,logged at,"
        "recorded at,created at,дата,utc time,local time,date utc"
    ),
    "time": (
        "time,zeit,uhrzeit,uhr,heure,hora,ora,orario,tijd,czas,godzina,tid,klockslag,klokkeslæt,"
        "klokkeslett,klok,kl,time of day,clock,messzeit,время,tageszeit"
    ),
    "unit": (
        "unit,units,einheit,einheiten,unité,unités,unidad,unidades,unità,unidade,eenheid,eenheden,"
        "jednostka,jednostki,enhet,enhed,единица,measure unit,unit of measure,uom"
    ),
    "element": (
        "element,elements,parameter,parameters,param,analyte,analysis,determinand,quantity,substance,"
        "messgröße,kenngröße,parametr,paramètre,parámetro,parametro,parâmetro,élément,elemento,"
        "pierwiastek,stoff,grundstof,grunnstoff,grundämne,ion,compound,verbindung,what,was,"
        "test parameter,measurement type,параметр,analyt,substanz,stof"
    ),
    "value": (
        "value,values,result,results,reading,readings,measurement,measured,measured value,level,"
        "concentration,wert,messwert,ergebnis,resultat,konzentration,gehalt,valeur,résultat,mesure,"
        "concentration mesurée,valor,resultado,medición,valore,risultato,misura,medida,waarde,"
        "resultaat,meting,wartość,wynik,pomiar,värde,mätvärde,værdi,verdi,måling,mätning,результат,"
        "значение,actual,ist,istwert,current,konzentration gemessen"
    ),
    "kit": (
        "kit,test kit,testkit,kits,instrument,device,gerät,messgerät,testset,appareil,dispositivo,"
        "strumento,apparaat,zestaw,tester,trousse,probe,meter,mätare"
    ),
    "lot": (
        "lot,lots,batch,batch no,lot no,lot number,batch number,charge,chargen nr,ch b,los,losnummer,"
        "chargennummer,numéro de lot,lote,lotto,partij,partijnummer,partia,seria,sats,parti,партия,"
        "lot nr,charge nr"
    ),
    "tank": (
        "tank,aquarium,becken,bac,cuve,acuario,vasca,acquario,aquário,bak,zbiornik,akwarium,akvarium,"
        "system,aquarium name,tank name,tank no,becken nr,аквариум"
    ),
    "water": "water,wasser,eau,agua,acqua,água,woda,vatten,vand,vann,sample,probe wasser,matrix,вода",
    "by": (
        "by,who,person,tested by,measured by,tester name,operator,analyst,user,keeper,wer,getestet von,"
        "gemessen von,von,prüfer,bearbeiter,par,testé par,opérateur,quien,por,hecho por,da,operatore,"
        "door,wie,gemeten door,kto,wykonał,av,mätt av,af,målt af"
    ),
    "note": (
        "note,notes,remark,remarks,comment,comments,memo,observation,observations,event,events,notiz,"
        "notizen,bemerkung,bemerkungen,kommentar,anmerkung,anmerkungen,hinweis,remarque,remarques,"
        "commentaire,commentaires,nota,notas,comentario,comentarios,observaciones,observação,"
        "observações,osservazioni,opmerking,opmerkingen,uwaga,uwagi,anteckning,anteckningar,"
        "bemærkning,bemærkninger,merknad,merknader,comentário,commento,commenti,info,sonstiges,"
        "ereignis,примечание,salt brand,weather"
    ),
    "replicate": "replicate,replicates,rep,repeat,wiederholung,replikat,réplique,réplica,replica,powtórzenie",
    "u": (
        "u,uncertainty,unc,error,accuracy,precision,unsicherheit,messunsicherheit,fehler,incertitude,"
        "incertidumbre,incertezza,incerteza,onzekerheid,niepewność,osäkerhet,usikkerhed,usikkerhet,"
        "u k 2,uncertainty k 2,expanded uncertainty"
    ),
    "raw": "raw,raw reading,kit reading,rohwert,ablesung,valeur brute,drops counted,tropfenzahl,absorbance",
    "source": "source,quelle,fuente,fonte,bron,źródło,källa,kilde,origin",
    "supplement": (
        "supplement,supplements,product,additive,dosing,dosed,what dosed,produkt,präparat,zusatz,mittel,"
        "produit,additif,complément,suplemento,producto,aditivo,integratore,prodotto,additivo,produto,"
        "middel,toevoeging,preparat,środek,tillsats,tilskud,dosing channel,channel,pump,kanal,pumpe,"
        "добавка"
    ),
    "amount": (
        "amount,dose,doses,dosage,daily dose,dose per day,amount dosed,menge,dosis,tagesdosis,"
        "dosiermenge,quantité,dose journalière,cantidad,dosis diaria,quantità,dose giornaliera,"
        "quantidade,hoeveelheid,dosering,dawka,ilość,mängd,dos,mængde,mengde,доза"
    ),
    "how": "how,mode,schedule,frequency,interval,art,häufigkeit,fréquence,frecuencia,frequenza,often",
    "end": "end,until,to,end date,stop,ende,bis,fin,hasta,fine,até,tot,do,slut,till",
    "litres": (
        "water change,water changes,water changed,wc,pwc,changed,litres changed,liters changed,"
        "volume changed,wasserwechsel,tww,ww,teilwasserwechsel,changement d eau,changement eau,"
        "cambio de agua,cambio agua,cambio acqua,cambio d acqua,cambio dell acqua,troca de água,"
        "troca parcial de água,tpa,waterwissel,waterverversing,water ververst,ververst,"
        "water gewisseld,podmiana,podmiana wody,wymiana wody,"
        "vattenbyte,vattenbyten,vandskift,vandskifte,vannskifte,подмена,litres,liters,liter,litri,litros,litre,liter"
    ),
    "volume": (
        "volume,tank volume,net volume,gross volume,system volume,water volume,volumen,beckenvolumen,"
        "nettovolumen,bruttovolumen,inhalt,beckeninhalt,wassermenge,volumen neto,capacity,capacité,"
        "capacidad,capacità,capacidade,inhoud,pojemność,objętość,volym,rumfang,size,объём"
    ),
    "average": (
        "average,avg,mean,median,mittel,mittelwert,durchschnitt,moyenne,promedio,media,médiane,"
        "gemiddelde,gemiddeld,średnia,medelvärde,medel,gennemsnit,gjennomsnitt,média,trend,"
        "moving average,rolling average,среднее"
    ),
    "limit": (
        "limit,qualifier,lod,loq,mdl,rl,bg,nwg,detection limit,limit of detection,"
        "limit of quantification,reporting limit,nachweisgrenze,bestimmungsgrenze,"
        "limite de détection,limite de quantification"
    ),
}  # fmt: skip
# Beside an element: the number is no level that was read.
NOT_LEVELS = (
    "target,goal,aim,setpoint,set point,desired,optimal,optimum,ideal,recommended,reference,ref,soll,"
    "sollwert,ziel,zielwert,richtwert,referenz,cible,objectif,consigne,objetivo,deseado,obiettivo,"
    "desiderato,alvo,meta,doel,streefwaarde,cel,docelowa,mål,önskat,ønsket,nsw,natural sea water,"
    "range,bereich,min,max,minimum,maximum,change,delta,diff,difference,änderung,differenz,abweichung,"
    "deviation,écart,différence,diferencia,differenza,verschil,różnica,skillnad,forskel,consumption,"
    "uptake,use per day,per day,verbrauch,tagesverbrauch,consommation,consumo,verbruik,zużycie,"
    "förbrukning,forbrug,forbruk,date,datum,time,comment,note,status,trend,corrected,calculated,"
    "expected,predicted,forecast,estimate,ratio,verhältnis,alarm,ok,rating,bewertung,score,rank,cost"
)
# Beside an element they say nothing more.
FILLERS = (
    "value,values,level,levels,lvl,reading,readings,result,results,measured,measurement,concentration,conc,"
    "test,tested,wert,messwert,gemessen,konzentration,gehalt,ist,istwert,valeur,mesure,niveau,valor,"
    "nivel,medida,valore,livello,waarde,gemeten,meting,wartość,poziom,pomiar,värde,nivå,værdi,verdi,"
    "måling,in,im,of,the,as,als,en,como,come,total,water,tank,aquarium,display,becken,wasser,aquariumwasser,"
    "actual,current,today,ion,ions,dissolved,free,probe,sensor"
)
# Beside an element they name what it was read with.
KIT_WORDS = (
    "kit,test kit,testkit,lab,laboratory,labor,labo,laboratoire,laboratorio,laboratório,laboratorium,"
    "icp,meter,probe,sensor,photometer,colorimeter,titration,titrator,strip,strips,drops,"
    "tropfen,tropfentest,streifen,refractometer,refraktometer,hydrometer,swing arm,aräometer,"
    "thermometer,electrode,elektrode,controller,old kit,new kit,hand kit,school kit,test a,test b,"
    "refractómetro,rifrattometro,réfractomètre,spectrometer,ic,handheld"
)
# What must not be taken for a level that it resembles.
WRONG_FRIENDS: dict[str, str] = {
    "gh,dgh,total hardness,general hardness,gesamthärte,dureté totale,th,dureza total,durezza totale,"
    "totale hardheid,twardość ogólna,total hårdhet": (
        "total hardness counts calcium and magnesium together and is the level of neither"
    ),
    "tds": "a sum of all that is dissolved, worked out from the conductivity, is no salinity",
    "orp,redox,rh,rx,eh,redox potential,redoxpotential": (
        "the redox potential is not among what is kept"
    ),
    "co2,carbon dioxide,kohlendioxid": "carbon dioxide is not among what is kept; pH is",
    "o2,do,oxygen,dissolved oxygen,sauerstoff,oxygène,oxígeno,ossigeno,zuurstof,tlen": (
        "oxygen is not among what is kept"
    ),
    "room temp,room temperature,air temp,air temperature,ambient,raumtemperatur,lufttemperatur,"
    "température ambiante,outside temp": "it is the temperature of the air, not of the water",
}
# Signs that are no words: of an average, and of a number of the row.
AVERAGE_SIGNS, INDEX_SIGNS = ("ø", "Ø", "x̄"), ("#", "№", "n°", "N°")
INDEX_WORDS = "no,nr,id,row,rownames,index,lfd,lfd nr,lp,line,zeile,num,numéro,número,entry,count"
# Names of traces that laboratories list, to their symbols.
TRACE_NAMES: dict[str, str] = {
    "Al": "aluminium,aluminum,alluminio,aluminio,glin", "Sb": "antimony,antimon,antimoine",
    "As": "arsenic,arsen", "Ba": "barium,bario,bar", "Be": "beryllium", "Cd": "cadmium,kadmium",
    "Cr": "chromium,chrom,chrome,cromo", "Co": "cobalt,kobalt,cobalto",
    "Cu": "copper,kupfer,cuivre,cobre,rame,koper,miedź,koppar,kobber", "Au": "gold,or",
    "Fe": "iron,eisen,fer,hierro,ferro,ijzer,żelazo,järn,jern", "La": "lanthanum,lanthan",
    "Pb": "lead,blei,plomb,plomo,piombo,lood,ołów,bly", "Li": "lithium,litio,lit",
    "Mn": "manganese,mangan,manganèse,manganeso,mangaan", "Hg": "mercury,quecksilber,mercure,kwik",
    "Mo": "molybdenum,molybdän,molybdène,molibdeno,molybdeen,molibden", "Ni": "nickel,niquel,nikkel",
    "Rb": "rubidium", "Sc": "scandium", "Se": "selenium,selen,sélénium,selenio",
    "Ag": "silver,silber,argent,plata,argento,zilver,srebro", "Tl": "thallium",
    "Sn": "tin,zinn,étain,estaño,stagno,cyna,tenn", "Ti": "titanium,titan,titane,titanio",
    "W": "tungsten,wolfram,tungstène", "U": "uranium,uran", "V": "vanadium,vanadio,wanad",
    "Zn": "zinc,zink,cinc,zinco,cynk,sink", "Zr": "zirconium,zirkon", "S": "sulfur,sulphur,schwefel,"
    "soufre,azufre,zolfo,zwavel,siarka", "Bi": "bismuth,wismut", "Cs": "cesium,caesium",
}  # fmt: skip

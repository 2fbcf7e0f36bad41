// The sentences of the Cairn language.
//
// Every decision needs one token of look-ahead. `head` rules end where a block opens, so that a driver with its
// own stack of open blocks can take a file head by head and leaf by leaf.

parser grammar CairnParser;

options { tokenVocab = CairnLexer; }

file : item* EOF ;

item : use | let | routine | ruleItem | load ;

use : Use Text ;
let : Let name Equals condition ;
routine : routineHead statement* CloseBrace ;
load : loadHead ( spanLine | statement )* CloseBrace ;

routineHead : Routine name OpenParenthesis ( parameter ( Comma parameter )* )? CloseParenthesis OpenBrace ;
parameter : name Colon name ( Equals condition )? ;

loadHead : Load Text For name OpenBrace ;
spanLine : SpanWord expression To expression ;  // exactly once in a load

ruleItem : ruleHead sentence CloseBrace ;
ruleHead : Rule name Text OpenBrace ;

statement
  : leaf
  | ( atHead | everyHead | togetherHead | eachHead | repeatHead ) statement* CloseBrace
  | afterHead ( OpenBrace statement* CloseBrace | statement )
  | choice
  ;

choice : ifHead statement* CloseBrace elsePart? ;
elsePart : Else ( choice | OpenBrace statement* CloseBrace ) ;

leaf : let | mark | note | send | bring | withdraw | doRoutine | require | expect | waive ;

mark : Mark name Equals markSource ;
markSource
  : Window name expression? ( Opens | Closes ) occurrence?
  | ( Start | End ) Of name
  | expression crossing?  // with a crossing, the expression is the path of a predicted quantity
  ;
crossing : ( Rises Above | Falls Below ) expression occurrence? ;
occurrence : NumberWord expression | First After expression | Last Before expression ;

note : Note Text ;
send : Send Now? name Dot name argument* ;
bring : Bring name ( Dot name )? To name ;
withdraw : Withdraw name Dot name argument* At expression ;
doRoutine : Do name OpenParenthesis ( argument ( Comma argument )* )? CloseParenthesis ;
argument : name Equals expression ;
require : Require sentence ;
expect : Expect condition Within expression ;
waive
  : Waive name ( Slash ( name | Once ) )? ( Of Text )? ( To expression )? From expression To expression
    Because Text Reference Text Until expression
  ;

atHead : At About? expression ( As name )? OpenBrace ;
afterHead : After expression ;
everyHead : From expression To expression Every expression OpenBrace ;
togetherHead : Together OpenBrace ;
eachHead : For Each name In ( OpenBracket ( condition ( Comma condition )* )? CloseBracket | everyTime ) OpenBrace ;
// All of them in the span, in order.
everyTime
  : ( Window name ( Opens | Closes ) | path ( Rises Above | Falls Below ) expression )
    ( Between expression And expression )?
  ;
repeatHead : Repeat expression Times OpenBrace ;
ifHead : If condition OpenBrace ;

// What is true or false. After `is A or`, a plain word or value is one more that it may be.
condition : conjunction ( Or conjunction )* ;
conjunction : negation ( And negation )* ;
negation : Not negation | comparison ;
comparison
  : ( happening | expression )
    ( ( Less | LessOrEqual | Greater | GreaterOrEqual ) expression
    | Is Not? ( expression | In OpenBracket ( expression ( Comma expression )* )? CloseBracket )
    )?
  ;

// What a rule looks at besides states and numbers.
happening
  : Command name Dot name ( OpenParenthesis ( argument ( Comma argument )* )? CloseParenthesis )?
  | Window name Number? ( Opens | Closes )?
  | ( Start | End ) Of operand
  | Time ( Since | Until ) operand
  ;
operand : happening | path | Instant | OpenParenthesis condition CloseParenthesis ;

// One thing that must hold over the whole of a load.
sentence : ( Never | Always ) condition scope | condition ( scope | form ) ;
scope : ( While condition )? ( Between expression And expression )? ;
form
  : No More Than ( Once | expression Times? ) ( In Any expression )?
  | Lasts No ( More | LessWord ) Than expression
  | Apart By expression
  | Only
    ( ( Inside | Outside | While | Before ) condition
    | After condition ( Of condition )?
    | Between expression And expression
    )
  | Followed By condition Within expression
  ;

expression : term ( ( Plus | Minus ) term )* ;
term : factor ( ( Star | Slash ) factor )* ;
factor
  : Minus factor
  | Number Unit?
  | Instant
  | Text
  | True
  | False
  | path
  | OpenParenthesis condition CloseParenthesis
  ;
path : name ( Dot name ( Dot name )? )? ;
name : Name | Each | Times | Any | More | LessWord | Than | By | Since | First | Last | Reference ;

// The sentences of the Cairn language.
//
// Every decision needs one token of look-ahead. `head` rules end where a block opens, so that a driver with its
// own stack of open blocks can take a file head by head and leaf by leaf.

parser grammar CairnParser;

options { tokenVocab = CairnLexer; }

file : item* EOF ;

item : use | let | routine | load ;

use : Use Text ;
let : Let Name Equals condition ;
routine : routineHead statement* CloseBrace ;
load : loadHead ( spanLine | statement )* CloseBrace ;

routineHead : Routine Name OpenParenthesis ( parameter ( Comma parameter )* )? CloseParenthesis OpenBrace ;
parameter : Name Colon Name ( Equals condition )? ;

loadHead : Load Text For Name OpenBrace ;
spanLine : SpanWord expression To expression ;  // exactly once in a load

statement
  : leaf
  | ( atHead | everyHead | togetherHead | eachHead | repeatHead ) statement* CloseBrace
  | afterHead ( OpenBrace statement* CloseBrace | statement )
  | choice
  ;

choice : ifHead statement* CloseBrace elsePart? ;
elsePart : Else ( choice | OpenBrace statement* CloseBrace ) ;

leaf : let | mark | note | send | bring | doRoutine ;

mark : Mark Name Equals markSource ;
markSource
  : Window Name expression? ( Opens | Closes )
  | ( Start | End ) Of Name
  | expression crossing?  // with a crossing, the expression is the path of a predicted quantity
  ;
crossing : ( Rises Above | Falls Below ) expression ( NumberWord expression )? ;

note : Note Text ;
send : Send Name Dot Name argument* ;
bring : Bring Name ( Dot Name )? To Name ;
doRoutine : Do Name OpenParenthesis ( argument ( Comma argument )* )? CloseParenthesis ;
argument : Name Equals expression ;

atHead : At About? expression ( As Name )? OpenBrace ;
afterHead : After expression ;
everyHead : From expression To expression Every expression OpenBrace ;
togetherHead : Together OpenBrace ;
eachHead : For Each Name In OpenBracket ( condition ( Comma condition )* )? CloseBracket OpenBrace ;
repeatHead : Repeat expression Times OpenBrace ;
ifHead : If condition OpenBrace ;

// What is true or false. After `is A or`, a plain word or value is one more that it may be.
condition : conjunction ( Or conjunction )* ;
conjunction : negation ( And negation )* ;
negation : Not negation | comparison ;
comparison
  : expression
    ( ( Less | LessOrEqual | Greater | GreaterOrEqual ) expression
    | Is Not? ( expression | In OpenBracket ( expression ( Comma expression )* )? CloseBracket )
    )?
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
path : Name ( Dot Name ( Dot Name )? )? ;
